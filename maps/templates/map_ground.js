// The ground on the map: fields, wet ground, soil outlines and the fields' numbers.
// Everything that came from a file is set as text, never as markup.

function latLngs(shape) {
  return shape.map(function (polygon) {
    return polygon.map(function (ring) {
      const points = [];
      let lng = 0, lat = 0;
      for (let i = 0; i < ring.length; i += 2) {
        lng += ring[i];
        lat += ring[i + 1];
        points.push([lat / 1e6, lng / 1e6]);
      }
      return points;
    });
  });
}

function layGround(map, data, pickField, pickWet, pickWater) {
  const colours = data.colours, worn = [[], []];
  ["soil", "chosen", "water", "wet"].forEach(function (name, above) {
    map.createPane(name).style.zIndex = 420 + above * 10;
  });

  const fields = data.fields.map(function (field, index) {
    const layer = L.polygon(latLngs(field.shape), { color: colours.ink, weight: 1.6, fillOpacity: 1 });
    layer.on("click", function () { pickField(index); });
    return layer.addTo(map);
  });
  const wet = data.wet.map(function (spot, index) {
    const layer = L.polygon(latLngs(spot.shape), {
      pane: "wet", color: colours.water, weight: 1.6, fillOpacity: 1
    });
    layer.on("click", function (event) {
      L.DomEvent.stopPropagation(event);
      pickWet(index);
    });
    return layer.addTo(map);
  });
  const water = data.water.map(function (spot, index) {
    return L.polygon(latLngs(spot.shape), {
      pane: "water", color: colours.water, weight: 1.6, fillColor: "url(#fill-water)", fillOpacity: 1
    }).on("click", function (event) {
      L.DomEvent.stopPropagation(event);
      pickWater(index);
    }).addTo(map);
  });
  const soil = L.layerGroup(data.soil.map(function (shape) {
    return L.polygon(latLngs(shape), {
      pane: "soil", interactive: false, fill: false, color: colours.soil, weight: 1.3
    });
  }));
  const chosen = L.layerGroup().addTo(map);
  const spotLines = [[colours.ink, 11], [colours.paper, 6]];
  const bounds = L.latLngBounds([]);
  fields.forEach(function (layer) { if (layer.getBounds().isValid()) bounds.extend(layer.getBounds()); });
  const numbers = layNumbers(map, data, fields);

  // Under the wet ground, so that the mark of a field hides none of it.
  function mark(layer, lines) {
    chosen.clearLayers();
    if (!layer || !layer.getBounds().isValid()) return;
    lines.forEach(function (line) {
      L.polygon(layer.getLatLngs(), {
        pane: "chosen", interactive: false, fill: false, color: line[0], weight: line[1]
      }).addTo(chosen);
    });
    if (!map.getBounds().contains(layer.getBounds())) {
      map.fitBounds(layer.getBounds(), { padding: [40, 40], maxZoom: map.getZoom(), animate: false });
    }
  }

  return {
    bounds: bounds,
    colour: function (fillOf, wetFill) {
      [[wet, wetFill, "wet0", "4 4"], [fields, fillOf, "unknown", "6 4"]].forEach(function (kind, k) {
        kind[0].forEach(function (layer, index) {
          const fill = kind[1](index);
          if (worn[k][index] === fill) return;
          worn[k][index] = fill;
          layer.setStyle({ fillColor: "url(#fill-" + fill + ")", dashArray: fill === kind[2] ? kind[3] : null });
        });
      });
    },
    showSoils: function (shown) { if (shown) soil.addTo(map); else soil.remove(); },
    markField: function (index) { mark(fields[index], [[colours.paper, 9], [colours.ink, 4]]); },
    markWet: function (index) { mark(wet[index], spotLines); },
    markWater: function (index) { mark(water[index], spotLines); },
    unmark: function () { mark(null); },
    placeNumbers: numbers
  };
}

// Numbers stand where there is room: large fields first, none on top of another.
function layNumbers(map, data, fields) {
  const tags = data.fields.map(function (field, index) {
    if (!field.label.length) return null;
    const box = fields[index].getBounds();
    const wide = box.getEast() - box.getWest(), tall = box.getNorth() - box.getSouth();
    return { at: L.latLng(field.label[1] / 1e6, field.label[0] / 1e6), text: String(index + 1), box: box,
             size: wide * tall, half: 4 * String(index + 1).length + 3, marker: null };
  }).filter(Boolean).sort(function (a, b) { return b.size - a.size; });

  function mark(tag) {
    const text = make("span", tag.text);
    tag.marker = L.marker(tag.at, {
      interactive: false,
      keyboard: false,
      icon: L.divIcon({ className: "number", html: text, iconSize: [0, 0] })
    });
  }
  return function () {
    const taken = [], view = map.getBounds().pad(2);
    tags.forEach(function (tag) {
      const at = map.latLngToLayerPoint(tag.at);
      const one = map.latLngToLayerPoint(tag.box.getSouthWest());
      const other = map.latLngToLayerPoint(tag.box.getNorthEast());
      // A number that is wider than its field would hide it.
      const room = view.contains(tag.at) &&
        Math.max(other.x - one.x, one.y - other.y) > Math.max(16, 2 * tag.half);
      const free = room && taken.every(function (t) {
        return Math.abs(t.x - at.x) > t.half + tag.half || Math.abs(t.y - at.y) > 18;
      });
      if (free) {
        taken.push({ x: at.x, y: at.y, half: tag.half });
        if (!tag.marker) mark(tag);
        tag.marker.addTo(map);
      } else if (tag.marker) tag.marker.remove();
    });
  };
}
