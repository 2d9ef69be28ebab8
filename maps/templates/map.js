// Puts the page together: map, table and detail speak of the same field.

function startFarmPage(map) {
  const data = JSON.parse(document.getElementById("farm-data").textContent);
  const words = data.words, detail = document.getElementById("detail");
  const frame = map.getContainer();
  const weeks = data.weeks ? readWeeks(data) : null;
  let opener = null, field = -1, spot = -1;

  function show(parts) {
    detail.replaceChildren(...parts);
    detail.hidden = false;
    const heading = document.getElementById("detail-heading");
    heading.focus({ preventScroll: true });
    if (window.matchMedia("(min-width: 56rem)").matches) {
      const top = heading.getBoundingClientRect().top;
      if (top < 0 || top > window.innerHeight * 0.6) window.scrollBy(0, top - 30);
    } else {
      // Half the screen for the map, half for the words.
      const top = heading.getBoundingClientRect().top;
      if (top < 0 || top > window.innerHeight * 0.55) window.scrollBy(0, top - window.innerHeight * 0.5);
    }
  }
  function pickField(index, from) {
    opener = from || document.getElementById("row-" + (index + 1)).querySelector(".pick");
    ground.markField(index);
    choose(index);
    show(fieldDetail(data, weeks, index, close, pickWet, pickWater));
  }
  function pickWet(index) {
    opener = document.getElementById("row-" + (data.wet[index].field + 1)).querySelector(".pick");
    ground.markWet(index);
    choose(data.wet[index].field, index);
    const spot = data.wet[index];
    show(wetDetail(data, spot, weeks ? weeks.wetFill(index) : "wet", spot.odds && weeks.tellWet(index), close, pickField));
  }
  function pickWater(index) {
    const water = data.water[index];
    opener = document.getElementById("row-" + (water.field + 1)).querySelector(".pick");
    ground.markWater(index);
    choose(water.field);
    show(wetDetail(data, water, "water", "", close, pickField));
  }
  function choose(index, wet = -1) {
    field = index;
    spot = wet;
    table.mark(index);
    if (weeks) showStrip(index, wet);
  }
  function close() {
    if (detail.hidden) return;
    detail.hidden = true;
    detail.replaceChildren();
    ground.unmark();
    choose(-1);
    if (opener) opener.focus({ preventScroll: cameFromMap() });
    // A row that is not shown takes no focus.
    if (document.activeElement !== opener) frame.focus({ preventScroll: true });
  }
  // Closing keeps the map in view when it is in view; else it goes back to the row.
  function cameFromMap() {
    const box = frame.getBoundingClientRect();
    return box.bottom > 80 && box.top < window.innerHeight - 80;
  }

  const ground = layGround(map, data, pickField, pickWet, pickWater);
  const table = bringTableToLife(data, pickField);
  document.addEventListener("keydown", function (event) { if (event.key === "Escape") close(); });

  frame.setAttribute("role", "group");
  frame.setAttribute("aria-label", words.map_label);
  fitFrame(map, ground.bounds);
  addButtons(map, words, ground.bounds);
  offerPlace(map, data, ground.bounds);
  offerPictures(map, data);
  if (data.online) offerOnline(map, data);
  L.control.scale({ position: "bottomleft", maxWidth: 130 }).addTo(map);
  map.on("zoomend moveend resize", ground.placeNumbers);
  ground.placeNumbers();

  const colourBy = document.getElementById("colour-by");
  function colour() {
    const way = colourBy.value;
    ground.colour(function (index) {
      if (way === "weeks") return weeks.step(weeks.works(index, weeks.weekOf(index)));
      return data.fields[index].fills[Number(way)];
    }, weeks ? weeks.wetFill : function () { return "wet"; });
    document.querySelectorAll(".key ul[id]").forEach(function (key) {
      key.hidden = key.id !== "key-" + way;
    });
  }
  colourBy.addEventListener("change", colour);
  colourBy.value = "0";
  colour();
  // A chosen week shows on map, table and detail at once; going back restores the answer.
  function weekChanged() {
    if (weeks.state.week === null) colourBy.value = "0";
    else colourBy.value = "weeks";
    colour();
    table.tellWeeks(weeks);
    const part = document.getElementById("detail-weeks");
    if (part) part.replaceChildren(weeksDetail(weeks, field));
    if (spot >= 0 && data.wet[spot].odds) {
      document.getElementById("wet-week").textContent = weeks.tellWet(spot);
      detail.querySelector(".answer .swatch").replaceWith(swatch(weeks.wetFill(spot), data.colours));
    }
  }
  const showStrip = weeks ? bringStripToLife(weeks, data, weekChanged) : null;
  const soils = document.getElementById("show-soils");
  if (soils) {
    soils.checked = false;
    soils.addEventListener("change", function () {
      ground.showSoils(soils.checked);
      document.getElementById("key-soil").hidden = !soils.checked;
    });
  }
  if (L.Browser.mobile || window.matchMedia("(pointer: coarse)").matches) {
    // One finger scrolls the page past the map; two move and enlarge the map.
    map.dragging.disable();
    document.getElementById("touch-hint").hidden = false;
  }
}

// Strips that the buttons and the scale take: the whole farm is shown between them.
const TOP_PX = 64, FOOT_PX = 52;

function wholeFarm(map, bounds) {
  map.fitBounds(bounds, {
    paddingTopLeft: [16, TOP_PX], paddingBottomRight: [16, FOOT_PX], animate: false, maxZoom: 18
  });
}

// The frame takes the farm's own shape, within what the screen can show.
function fitFrame(map, bounds) {
  const frame = map.getContainer();
  function shape() {
    if (!bounds.isValid()) return;
    const one = map.project(bounds.getSouthWest(), 10), other = map.project(bounds.getNorthEast(), 10);
    const tall = Math.abs(one.y - other.y) / Math.max(Math.abs(one.x - other.x), 1e-6);
    const most = window.innerHeight * (window.innerWidth < 896 ? 0.6 : 0.72);
    const room = (frame.clientWidth - 32) * tall + TOP_PX + FOOT_PX;
    frame.style.height = Math.round(Math.max(300, Math.min(room, most))) + "px";
    map.invalidateSize({ animate: false });
    map.setMinZoom(0);
    wholeFarm(map, bounds);
    map.setMinZoom(Math.floor(map.getZoom()) - 1);
  }
  map.setMaxZoom(20);
  shape();
  let width = window.innerWidth;
  window.addEventListener("resize", function () {
    // A phone's address bar changes the height alone: then the view stays as the reader left it.
    if (window.innerWidth === width) return;
    width = window.innerWidth;
    shape();
  });
}

function addButtons(map, words, bounds) {
  const Buttons = L.Control.extend({
    options: { position: "topleft" },
    onAdd: function () {
      const box = make("div", null, "map-buttons");
      [
        ["+", words.zoom_in, function () { map.zoomIn(); }],
        ["\u2212", words.zoom_out, function () { map.zoomOut(); }],
        [words.whole_farm, null, function () {
          wholeFarm(map, bounds);
        }]
      ].forEach(function (one) {
        const button = make("button", one[0]);
        button.type = "button";
        if (one[1]) button.setAttribute("aria-label", one[1]);
        button.addEventListener("click", one[2]);
        box.append(button);
      });
      L.DomEvent.disableClickPropagation(box);
      return box;
    }
  });
  new Buttons().addTo(map);
}

startFarmPage(map_farm);
