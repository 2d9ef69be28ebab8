// The ground as a picture: plain, light and shade of the heights with contours, or the user's image.

function paneFor(map, name, above) {
  if (!map.getPane(name)) map.createPane(name).style.zIndex = above;
  return name;
}

// Fields let the picture under them be seen while there is one.
function overPicture(map, reason, there) {
  map.getContainer().classList.toggle(reason, there);
}

function offerPictures(map, data) {
  const choice = document.getElementById("ground-picture");
  if (!choice) return;
  const told = document.getElementById("ground-told");
  let shown = null;

  function layerOf(name) {
    const picture = data.ground[name], box = picture.box;
    const corners = [[box[0], box[1]], [box[2], box[3]]];
    const pane = name === "photo" ? paneFor(map, name, 250) : paneFor(map, name, 405);
    const parts = [L.imageOverlay(picture.image, corners, { pane: pane, interactive: false })];
    (picture.lines || []).forEach(function (lines, main) {
      if (lines.length) parts.push(L.polyline(latLngs([lines])[0], {
        pane: paneFor(map, "contours", 410), interactive: false, color: data.colours.ink,
        smoothFactor: 0.4, weight: main ? 1.5 : 0.7, opacity: main ? 0.75 : 0.6
      }));
    });
    return L.layerGroup(parts);
  }
  function show() {
    const name = choice.value;
    if (shown) shown.remove();
    shown = name === "plain" ? null : layerOf(name).addTo(map);
    overPicture(map, "on-relief", name === "relief");
    overPicture(map, "on-photo", name === "photo");
    told.hidden = name === "plain";
    told.textContent = name === "plain" ? "" : data.ground[name].told;
  }
  choice.addEventListener("change", show);
  choice.value = "plain";
  show();
}
