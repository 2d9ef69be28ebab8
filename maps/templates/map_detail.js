// What is known of one field or wet ground, told beside or under the map.

function make(tag, text, className) {
  const node = document.createElement(tag);
  if (text !== undefined && text !== null) node.textContent = text;
  if (className) node.className = className;
  return node;
}

// Text from a file stands for itself: its letters cannot turn the rest of the line round.
function own(text) { return make("bdi", text); }

function swatch(fill, colours) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  const box = document.createElementNS(space, "rect");
  const sets = { x: 1, y: 1, width: 32, height: 22, stroke: fill.startsWith("wet") ? colours.water : colours.ink,
                 "stroke-width": 1.6, fill: "url(#fill-" + fill + ")" };
  if (fill === "unknown") sets["stroke-dasharray"] = "5 3";
  Object.keys(sets).forEach(function (name) { box.setAttribute(name, sets[name]); });
  svg.setAttribute("class", "swatch");
  svg.setAttribute("viewBox", "0 0 34 24");
  svg.setAttribute("width", "34");
  svg.setAttribute("height", "24");
  svg.setAttribute("aria-hidden", "true");
  svg.appendChild(box);
  return svg;
}

function detailHead(words, small, large, close) {
  const head = make("div", null, "detail-head");
  const title = make("h2");
  title.id = "detail-heading";
  title.tabIndex = -1;
  title.append(make("small", small), make("span", " "), large ? own(large) : "");
  const button = make("button", words.close, "close");
  button.type = "button";
  button.addEventListener("click", close);
  head.append(title, button);
  return head;
}

function section(title, body) {
  const part = make("section");
  part.append(make("h3", title), body);
  return part;
}

function listOf(items, each) {
  const list = make("ul");
  items.forEach(function (item, i) {
    const line = make("li");
    line.append(...[].concat(each(item, i)));
    list.append(line);
  });
  return list;
}

function factList(facts) {
  const list = make("dl");
  facts.forEach(function (fact) {
    const pair = make("div"), value = make("dd");
    value.append(own(fact[1]));
    pair.append(make("dt", fact[0]), value);
    list.append(pair);
  });
  return list;
}

// Each rating of a field is its step, from harmless to not known, and sentences that say why.
function ratingList(field, data) {
  const list = listOf(data.ratings, function (rating, i) {
    const own = field.ratings[i], text = make("div"), head = make("p");
    head.append(make("span", rating.label + ": "), make("b", rating.words[own[0]]));
    text.append(head);
    own.slice(1).forEach(function (why) { text.append(make("p", why, "fact")); });
    return [swatch(field.fills[i + 1], data.colours), text];
  });
  list.className = "ratings";
  return list;
}

// Wet ground or water within a field, each a button that shows it.
function groundList(title, mine, all, pick) {
  return section(title, listOf(mine, function (spot) {
    const button = make("button", all[spot].item, "wet-item");
    button.type = "button";
    button.addEventListener("click", function () { pick(spot); });
    return [button];
  }));
}

function fieldDetail(data, weeks, index, close, pickWet, pickWater) {
  const field = data.fields[index], words = data.words;
  const answer = make("p", null, "answer");
  answer.append(swatch(field.fills[0], data.colours), make("b", field.verdict));
  const parts = [detailHead(words, field.title, field.name, close), answer, make("p", field.why, "why")];
  if (field.plan) parts.push(make("p", field.plan));
  if (field.mind.length) parts.push(section(words.mind, listOf(field.mind, function (s) { return s; })));
  const odds = weeks ? weeksDetail(weeks, index) : null;
  if (odds) {
    const part = make("div");
    part.id = "detail-weeks";
    part.append(odds);
    parts.push(part);
  }
  parts.push(section(words.facts, factList(field.facts)));
  if (field.wet.length) parts.push(groundList(words.wet_here, field.wet, data.wet, pickWet));
  if (field.water) parts.push(groundList(words.water_here, field.water, data.water, pickWater));
  parts.push(section(words.ratings, ratingList(field, data)));
  if (field.soils.length) {
    const soils = listOf(field.soils, function (soil) {
      return [make("b", soil[0]), " ", own(soil[1]), " ", make("small", soil[2])];
    });
    parts.push(section(words.soils, soils));
  }
  if (field.noted.length) {
    parts.push(section(words.noted, listOf(field.noted, function (note) { return [own(note)]; })));
  }
  return parts;
}

function wetDetail(data, spot, fill, told, close, pickField) {
  const field = data.fields[spot.field];
  const answer = make("p", null, "answer");
  answer.append(swatch(fill, data.colours), make("b", spot.why));
  const back = make("button", spot.back, "back");
  back.type = "button";
  back.addEventListener("click", function () { pickField(spot.field); });
  const odds = make("p", told, "why");
  odds.id = "wet-week";
  odds.hidden = !told;
  return [
    detailHead(data.words, spot.title, field.name, close),
    answer, odds, factList(spot.facts), make("p", data.wetland, "fact"), back
  ];
}
