// Pictures from the internet. Nothing is asked for before the reader ticks the box.

function offerOnline(map, data) {
  const tick = document.getElementById("online"), told = document.getElementById("online-told");
  const credit = make("p", data.online.credit, "credit");
  let tiles = null;

  function failed() { told.textContent = data.online.failed; }
  function show() {
    if (tiles) tiles.remove();
    tiles = null;
    credit.remove();
    told.textContent = "";
    overPicture(map, "on-online", tick.checked);
    if (!tick.checked) return;
    tiles = L.tileLayer(data.online.url, {
      pane: paneFor(map, "online", 260), maxZoom: 20, maxNativeZoom: data.online.finest
    });
    tiles.on("tileerror", failed);
    tiles.on("tileload", function () { told.textContent = ""; });
    tiles.addTo(map);
    map.getContainer().append(credit);
  }
  tick.addEventListener("change", show);
  tick.checked = false;
}
