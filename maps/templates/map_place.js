// Where am I: a dot with the ring within which the device takes it to be, and words that say so.

function offerPlace(map, data, bounds) {
  const words = data.place, told = document.getElementById("place-told");
  const button = make("button", null, "where");
  button.type = "button";
  button.append(sign(), make("span", words.button));
  button.setAttribute("aria-pressed", "false");
  document.querySelector(".map-buttons").append(button);
  const pane = paneFor(map, "place", 640), layer = L.layerGroup();
  const fields = data.fields.map(function (field) { return latLngs(field.shape); });
  let watch = null, seen = false;

  function stop(text) {
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    watch = null;
    layer.clearLayers().remove();
    button.setAttribute("aria-pressed", "false");
    told.textContent = text;
  }
  function found(position) {
    if (watch === null) return;
    const at = L.latLng(position.coords.latitude, position.coords.longitude);
    const within = position.coords.accuracy;
    layer.clearLayers().addTo(map);
    const ink = data.colours.ink, paper = data.colours.paper;
    L.circle(at, { pane: pane, interactive: false, radius: within, color: ink, weight: 1.5,
                   dashArray: "5 4", fillColor: paper, fillOpacity: 0.25 }).addTo(layer);
    L.circleMarker(at, { pane: pane, interactive: false, radius: 8, color: paper, weight: 3,
                         fillColor: ink, fillOpacity: 1 }).addTo(layer);
    told.textContent = whereabouts(map, words, data.words.numbers, fields, at, within);
    // The first time the view goes there, if that is on the farm or close by.
    if (!seen && !map.getBounds().contains(at) && bounds.pad(0.5).contains(at)) {
      map.fitBounds(L.latLngBounds(bounds.getSouthWest(), bounds.getNorthEast()).extend(at),
                    { animate: false, maxZoom: map.getZoom() });
    }
    seen = true;
  }
  function failed(error) {
    // A place that was found once stays; the next may come.
    if (error.code !== 1 && seen) return;
    stop(error.code === 1 ? words.denied : error.code === 3 ? words.slow : words.unknown);
  }
  button.addEventListener("click", function () {
    if (watch !== null) { stop(""); return; }
    if (!navigator.geolocation) { told.textContent = words.denied; return; }
    told.textContent = words.waiting;
    button.setAttribute("aria-pressed", "true");
    seen = false;
    watch = -1;
    const asked = navigator.geolocation.watchPosition(found, failed, {
      enableHighAccuracy: true, timeout: 20000, maximumAge: 5000
    });
    if (watch === -1) watch = asked;
  });
}

function sign() {
  const space = "http://www.w3.org/2000/svg", svg = document.createElementNS(space, "svg");
  const path = document.createElementNS(space, "path");
  path.setAttribute("d", "M10 1v5M10 14v5M1 10h5M14 10h5M15 10a5 5 0 1 1-10 0a5 5 0 0 1 10 0");
  svg.setAttribute("viewBox", "0 0 20 20");
  svg.setAttribute("width", "20");
  svg.setAttribute("height", "20");
  svg.setAttribute("aria-hidden", "true");
  svg.append(path);
  return svg;
}

// Even and odd borders between a point and the edge of the world tell inside from outside.
function liesIn(shape, at) {
  let inside = false;
  shape.forEach(function (polygon) {
    polygon.forEach(function (ring) {
      ring.forEach(function (one, i) {
        const other = ring[(i || ring.length) - 1];
        if ((one[0] > at.lat) !== (other[0] > at.lat) &&
            at.lng < (other[1] - one[1]) * (at.lat - one[0]) / (other[0] - one[0]) + one[1]) {
          inside = !inside;
        }
      });
    });
  });
  return inside;
}

// The nearest point of a field's border, on a plane around the place.
function nearest(shape, at) {
  const squeeze = Math.cos(at.lat * Math.PI / 180);
  let best = null, least = Infinity;
  shape.forEach(function (polygon) {
    polygon.forEach(function (ring) {
      ring.forEach(function (one, i) {
        const other = ring[(i || ring.length) - 1];
        const x = (other[1] - one[1]) * squeeze, y = other[0] - one[0];
        const dx = (at.lng - one[1]) * squeeze, dy = at.lat - one[0];
        const along = Math.min(1, Math.max(0, (x * dx + y * dy) / (x * x + y * y || 1)));
        const away = Math.hypot(dx - along * x, dy - along * y);
        if (away < least) {
          least = away;
          best = L.latLng(one[0] + along * y, one[1] + along * x / squeeze);
        }
      });
    });
  });
  return best && { at: best, away: least };
}

function whereabouts(map, words, numbers, fields, at, within) {
  function length(metres) {
    const far = metres >= words.far_from_m, unit = far ? words.far_m : words.near_m;
    const value = metres / unit;
    const round = far ? Math.round(value * 10) / 10 : Math.max(10, Math.round(value / 10) * 10);
    return fill(far ? words.far : words.near, { n: round.toLocaleString(numbers) });
  }
  const around = length(within);
  const here = fields.findIndex(function (shape) { return liesIn(shape, at); });
  if (here >= 0) return fill(words.inside, { n: here + 1, within: around });
  let best = null, number = 0;
  fields.forEach(function (shape, i) {
    const found = nearest(shape, at);
    if (found && (!best || found.away < best.away)) { best = found; number = i + 1; }
  });
  if (!best) return "";
  const east = (best.at.lng - at.lng) * Math.cos(at.lat * Math.PI / 180), north = best.at.lat - at.lat;
  const eighth = Math.round(Math.atan2(east, north) / Math.PI * 4 + 8) % 8;
  return fill(words.outside, {
    n: number, within: around, distance: length(map.distance(at, best.at)),
    direction: words.directions[eighth]
  });
}
