"""What a soil survey says of the ground: map units, soils in them, their layers and wet months."""
