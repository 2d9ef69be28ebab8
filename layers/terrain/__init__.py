"""Where water lies and runs on the ground, from heights alone: arrays in, arrays out."""
