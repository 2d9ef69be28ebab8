// The table of fields: sorted by any column, searched, and each row a way to its field.

function bringTableToLife(data, pickField) {
  const table = document.getElementById("fields"), body = table.tBodies[0];
  const rows = Array.from(body.rows), heads = Array.from(table.tHead.rows[0].cells);
  const sortBy = document.getElementById("sort-by"), search = document.getElementById("search");
  const count = document.getElementById("count"), more = document.getElementById("more-rows");
  const cells = rows.map(function (row) { return row.querySelector(".works"); });
  // Of very many rows the page shows so many, and as many again when asked; print has them all.
  const some = rows.findIndex(function (row) { return row.classList.contains("later"); });
  let most = some < 0 ? rows.length : some;
  let column = 0, falling = false, order = rows, marked = -1, found = null;

  function key(row) {
    const cell = row.cells[column];
    return heads[column].dataset.sort === "number" ? Number(cell.dataset.key) : cell.textContent;
  }
  function sort(index, turn) {
    // Sizes are most use with the largest first; the rest from the start of the row.
    const first = heads[index].classList.contains("num");
    falling = turn && index === column ? !falling : first;
    column = index;
    const sign = falling ? -1 : 1, keys = rows.map(key);
    const letters = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });
    order = rows.map(function (row, i) { return i; }).sort(function (a, b) {
      const one = keys[a], other = keys[b];
      return sign * (typeof one === "number" ? one - other : letters.compare(one, other)) || a - b;
    }).map(function (i) { return rows[i]; });
    heads.forEach(function (head, i) {
      if (i === index) head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    sortBy.value = String(index);
    cut();
  }
  function cut() {
    const left = order.filter(function (row) { return !row.hidden; }), shown = left.slice(0, most);
    left.forEach(function (row, i) { row.classList.toggle("later", i >= most); });
    shown.forEach(wake);
    // Rows that are not seen stay where they are: to move thousands takes seconds.
    if (shown.some(function (row, i) { return row !== body.rows[i]; })) body.prepend(...shown);
    more.hidden = shown.length === left.length;
  }
  // A row's name becomes a button when the row is first shown.
  function wake(row) {
    const still = row.querySelector("span.pick");
    if (!still) return;
    const button = make("button", null, "pick");
    button.type = "button";
    button.setAttribute("aria-controls", "detail");
    button.setAttribute("aria-expanded", String(Number(row.dataset.field) === marked));
    button.append(...still.childNodes);
    still.replaceWith(button);
  }
  function plain(text) { return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase(); }
  function filter() {
    const wanted = plain(search.value.trim());
    if (wanted && !found) found = rows.map(function (row) { return plain(row.textContent); });
    let shown = 0;
    rows.forEach(function (row, i) {
      row.hidden = wanted !== "" && !found[i].includes(wanted);
      if (!row.hidden) shown += 1;
    });
    const words = wanted ? data.words.shown_some : data.words.shown_all;
    count.textContent = words.replace("{shown}", shown).replace("{n}", rows.length);
    cut();
  }

  heads.forEach(function (head, index) {
    if (!head.dataset.sort) return;
    const button = make("button");
    button.append(make("span", head.textContent));
    button.type = "button";
    button.addEventListener("click", function () { sort(index, true); });
    sortBy.append(new Option(head.textContent, String(index)));
    head.replaceChildren(button);
  });
  body.addEventListener("click", function (event) {
    const row = event.target.closest("tr");
    if (row) pickField(Number(row.dataset.field), row.querySelector(".pick"));
  });
  sortBy.addEventListener("change", function () { sort(Number(sortBy.value), false); });
  search.addEventListener("input", filter);
  more.addEventListener("click", function () {
    const first = order.find(function (row) { return !row.hidden && row.classList.contains("later"); });
    most += some;
    cut();
    first.querySelector(".pick").focus();
  });
  window.addEventListener("beforeprint", function () { body.append(...order); });
  sort(0, false);
  filter();

  return {
    mark: function (index) {
      [marked, index].forEach(function (one) {
        if (one < 0) return;
        const button = rows[one].querySelector("button.pick");
        rows[one].classList.toggle("chosen", one === index);
        if (button) button.setAttribute("aria-expanded", String(one === index));
      });
      marked = index;
    },
    tellWeeks: function (weeks) {
      cells.forEach(function (cell, index) {
        const week = weeks.weekOf(index), works = weeks.works(index, week);
        cell.dataset.key = works === null ? -1 : works;
        cell.firstElementChild.textContent = works === null ? "\u2013" : tenths(works);
        cell.lastElementChild.textContent = week === null ? "" : weeks.farm.days[week];
      });
    }
  };
}
