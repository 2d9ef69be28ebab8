// Sowing weeks: the strip shows their odds and is the slider that chooses one.

function fill(sentence, values) {
  return sentence.replace(/\{(\w+)\}/g, function (all, name) {
    return name in values ? values[name] : all;
  });
}

// A whole number out of its two letters; null where there is none.
function numberAt(letters, index) {
  const pair = letters.slice(2 * index, 2 * index + 2);
  return /^[0-9a-z]{2}$/.test(pair) ? parseInt(pair, 36) : null;
}

function tenths(value) { return value % 10 ? (value / 10).toFixed(1) : String(value / 10); }

function spokenYears(words, value) {
  const number = tenths(value);
  const name = number === "0" ? "years_none" : number === "1" ? "years_one" : "years_many";
  return fill(words[name], { n: number });
}

function readWeeks(data) {
  const farm = data.weeks, words = data.words;
  const state = { week: null };
  function of(index) { return data.fields[index].weeks; }
  // The week that counts for a field now: the chosen one, or its own recommended one.
  function weekOf(index) {
    if (state.week !== null) return state.week;
    return of(index) && of(index).best >= 0 ? of(index).best : null;
  }
  function works(index, week) {
    return of(index) && week !== null ? numberAt(of(index).works, week) : null;
  }
  function step(value) {
    if (value === null) return "unknown";
    const at = farm.steps.findIndex(function (limit) { return value >= limit; });
    return "y" + (at < 0 ? 0 : 3 - at);
  }
  function ofTen(value) { return fill(words.weeks_value, { n: spokenYears(words, value) }); }
  function tell(index) {
    const week = index < 0 ? state.week : weekOf(index);
    if (index < 0 && week === null) {
      return farm.average ? fill(words.weeks_average, { n: ofTen(Math.round(10 * farm.average)) }) : farm.out;
    }
    if (week === null) return words.weeks_none;
    const value = index < 0 ? numberAt(farm.works, week) : works(index, week);
    const told = { day: farm.days[week], ground: farm.ground[week] };
    if (value === null) return fill(words.weeks_closed, told);
    told.n = ofTen(value);
    if (index < 0) return fill(words.weeks_farm, told);
    const best = week === of(index).best ? words.weeks_field_best : words.weeks_field;
    const fails = farm.fails[numberAt(of(index).fails, week)];
    const wet = of(index).wet, wetter = wet && farm.too_wet[numberAt(wet, week)];
    return fill(best, told) + (fails ? " " + fill(words.weeks_fails, { fails: fails }) : "") +
      (wetter ? " " + wetter : "");
  }
  // Wet ground has the odds of the week that counts for its field; null where they are not known.
  function wetOdds(spot) {
    const week = weekOf(data.wet[spot].field), odds = data.wet[spot].odds;
    return odds && week !== null ? numberAt(odds, week) : null;
  }
  function wetFill(spot) {
    const value = wetOdds(spot);
    if (!farm.wet.length) return "wet";
    return "wet" + (value === null ? "u" : value < farm.wet[0] ? "0" : value < farm.wet[1] ? "" : "2");
  }
  function tellWet(spot) {
    const value = wetOdds(spot), day = farm.days[weekOf(data.wet[spot].field)];
    if (value === null) return fill(words.weeks_closed, { day: day });
    return fill(words.wet_week, { day: day, n: ofTen(value) });
  }
  return { wetFill: wetFill, tellWet: tellWet, farm: farm, words: words, state: state, of: of, weekOf: weekOf, works: works, step: step,
           ofTen: ofTen, tell: tell };
}

function bringStripToLife(weeks, data, changed) {
  const farm = weeks.farm, n = farm.days.length;
  const strip = document.getElementById("weeks"), told = document.getElementById("week-told");
  const back = document.getElementById("best-weeks"), whose = document.getElementById("week-whose");
  let field = -1, spot = -1;

  const cells = farm.days.map(function (day) {
    const cell = make("span", null, "week"), number = make("b"), bar = make("i");
    cell.append(make("em"), number, bar, make("span", day.replace(/\D+/g, "")));
    strip.append(cell);
    return cell;
  });
  const months = make("span", null, "months");
  farm.months.forEach(function (month, i) {
    const next = i + 1 < farm.months.length ? farm.months[i + 1][0] : n;
    const name = make("span", next - month[0] > 1 ? month[1] : "");
    name.style.flexGrow = next - month[0];
    months.append(name);
  });
  strip.after(months);
  strip.setAttribute("aria-valuemin", "0");
  strip.setAttribute("aria-valuemax", String(n - 1));

  function best() { return field < 0 ? farm.best : [weeks.of(field) ? weeks.of(field).best : -1]; }
  function value(week) {
    return field < 0 ? numberAt(farm.works, week) : weeks.works(field, week);
  }
  function draw() {
    const roomy = strip.clientWidth / n >= 34, now = weeks.state.week, marked = best();
    cells.forEach(function (cell, i) {
      const years = value(i), bar = cell.querySelector("i");
      cell.querySelector("em").textContent = marked.includes(i) ? "\u25be" : "";
      cell.querySelector("b").textContent =
        years === null ? "" : roomy ? tenths(years) : String(Math.round(years / 10));
      bar.className = years === null ? "none" : weeks.step(years);
      bar.style.height = years === null ? "0" : Math.max(3, Math.round(years * 0.56)) + "px";
      cell.classList.toggle("chosen", i === now);
      cell.classList.toggle("shut", years === null);
    });
    const wet = spot < 0 || !data.wet[spot].odds ? null : data.wet[spot];
    whose.textContent = (field < 0 ? data.words.whole_farm : (wet || data.fields[field]).title) + ":";
    told.textContent = wet ? weeks.tellWet(spot) : weeks.tell(field);
    back.hidden = now === null;
    const here = now !== null ? now : Math.max(0, marked.length ? marked[0] : 0);
    strip.setAttribute("aria-valuenow", String(here));
    strip.setAttribute("aria-valuetext", whose.textContent + " " + told.textContent);
  }
  function choose(week) {
    const next = week === null ? null : Math.min(n - 1, Math.max(0, week));
    if (next === weeks.state.week) return;
    weeks.state.week = next;
    draw();
    changed();
  }
  strip.addEventListener("keydown", function (event) {
    const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 4, PageDown: -4 };
    const from = Number(strip.getAttribute("aria-valuenow"));
    if (event.key in steps) choose(from + steps[event.key]);
    else if (event.key === "Home") choose(0);
    else if (event.key === "End") choose(n - 1);
    else return;
    event.preventDefault();
  });

  // A mouse chooses where it presses; a finger where it slides or lifts, so that it can still
  // scroll the page.
  let from = null;
  function at(event) {
    const box = strip.getBoundingClientRect();
    return Math.floor((event.clientX - box.left) / box.width * n);
  }
  strip.addEventListener("pointerdown", function (event) {
    from = event.clientX;
    strip.setPointerCapture(event.pointerId);
    if (event.pointerType === "mouse") choose(at(event));
  });
  strip.addEventListener("pointermove", function (event) {
    if (from !== null && (event.pointerType === "mouse" || Math.abs(event.clientX - from) > 6)) {
      choose(at(event));
    }
  });
  strip.addEventListener("pointerup", function (event) {
    if (from !== null) choose(at(event));
    from = null;
  });
  strip.addEventListener("pointercancel", function () { from = null; });
  back.addEventListener("click", function () {
    choose(null);
    strip.focus({ preventScroll: true });
  });
  window.addEventListener("resize", draw);
  draw();
  return function (index, wet) {
    field = index;
    spot = wet;
    draw();
  };
}

// What the years say of a field, for its detail: the week, the feed, the cost of waiting, doubts.
function weeksDetail(weeks, index) {
  const own = weeks.of(index), words = weeks.words, farm = weeks.farm;
  if (!own) return null;
  const part = make("section"), n = farm.days.length, week = weeks.weekOf(index);
  part.append(make("h3", words.weeks_heading));
  // Of the recommended week the answer has told already.
  if (week === null || week !== own.best) part.append(make("p", weeks.tell(index)));
  function dry(at) {
    const value = numberAt(own.grows, at);
    return value === null ? "" : (100 * value).toLocaleString(words.numbers);
  }
  if (week !== null && weeks.works(index, week) !== null) {
    const facts = [[words.grows_60, fill(words.grows_value, {
      low: dry(week), mid: dry(n + week), high: dry(2 * n + week), unit: farm.unit
    })]];
    [45, 60, 90].forEach(function (age, i) {
      const years = numberAt(own.reach, i * n + week);
      facts.push([fill(words.reach, { n: age }), weeks.ofTen(years)]);
    });
    part.append(factList(facts));
  }
  if (own.best >= 0) part.append(waiting(weeks, own, n, week));
  if (own.doubts.length) {
    part.append(make("h3", words.doubts), listOf(own.doubts, function (at) { return farm.doubts[at]; }));
  }
  return part;
}

function waiting(weeks, own, n, chosen) {
  const words = weeks.words, farm = weeks.farm;
  const table = make("table", null, "waiting"), head = make("tr"), body = make("tbody");
  table.append(make("caption", words.waiting), make("thead"), body);
  table.tHead.append(head);
  [words.waiting_week, words.waiting_works, fill(words.waiting_60, { unit: farm.unit }),
   fill(words.waiting_end, { unit: farm.unit })].forEach(function (text, i) {
    const cell = make("th", text, i ? "num" : null);
    cell.scope = "col";
    head.append(cell);
  });
  for (let week = own.best; week < n; week += 1) {
    const works = numberAt(own.works, week);
    if (works === null) break;
    const row = make("tr"), first = make("th", farm.days[week]);
    first.scope = "row";
    row.append(first, make("td", tenths(works), "num"));
    [numberAt(own.grows, n + week), numberAt(own.end, week)].forEach(function (value) {
      const text = value === null ? "" : (100 * value).toLocaleString(words.numbers);
      row.append(make("td", text, "num"));
    });
    row.classList.toggle("chosen", week === chosen);
    body.append(row);
    if (works === 0) break;
  }
  return table;
}
