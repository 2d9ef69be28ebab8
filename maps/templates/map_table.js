// The table of fields: sorted by any column, searched, and each row a way to its field.

function bringTableToLife(data, pickField) {
  const table = document.getElementById("fields"), body = table.tBodies[0];
  const rows = Array.from(body.rows), heads = Array.from(table.tHead.rows[0].cells);
  const sortBy = document.getElementById("sort-by"), search = document.getElementById("search");
  const count = document.getElementById("count");
  let column = 0, falling = false;

  function key(row) {
    const cell = row.cells[column];
    return heads[column].dataset.sort === "number" ? Number(cell.dataset.key) : cell.textContent;
  }
  function sort(index, turn) {
    // Sizes are most use with the largest first; the rest from the start of the row.
    const first = heads[index].classList.contains("num");
    falling = turn && index === column ? !falling : first;
    column = index;
    const sign = falling ? -1 : 1;
    rows.slice().sort(function (a, b) {
      const one = key(a), other = key(b);
      const order = typeof one === "number" ? one - other
        : one.localeCompare(other, undefined, { numeric: true, sensitivity: "base" });
      return sign * order || Number(a.dataset.field) - Number(b.dataset.field);
    }).forEach(function (row) { body.append(row); });
    heads.forEach(function (head, i) {
      if (i === index) head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      else head.removeAttribute("aria-sort");
    });
    sortBy.value = String(index);
  }
  function plain(text) { return text.normalize("NFKD").replace(/[\u0300-\u036f]/g, "").toLowerCase(); }
  const found = rows.map(function (row) { return plain(row.textContent); });
  function filter() {
    const wanted = plain(search.value.trim());
    let shown = 0;
    rows.forEach(function (row, i) {
      row.hidden = !found[i].includes(wanted);
      if (!row.hidden) shown += 1;
    });
    const words = wanted ? data.words.shown_some : data.words.shown_all;
    count.textContent = words.replace("{shown}", shown).replace("{n}", rows.length);
  }

  heads.forEach(function (head, index) {
    if (!head.dataset.sort) return;
    const button = make("button", head.textContent);
    button.type = "button";
    button.addEventListener("click", function () { sort(index, true); });
    sortBy.append(new Option(head.textContent, String(index)));
    head.replaceChildren(button);
  });
  rows.forEach(function (row) {
    const still = row.querySelector(".pick"), button = make("button", null, "pick");
    button.type = "button";
    button.setAttribute("aria-controls", "detail");
    button.setAttribute("aria-expanded", "false");
    button.append(...still.childNodes);
    still.replaceWith(button);
  });
  body.addEventListener("click", function (event) {
    const row = event.target.closest("tr");
    if (row) pickField(Number(row.dataset.field), row.querySelector(".pick"));
  });
  sortBy.addEventListener("change", function () { sort(Number(sortBy.value), false); });
  search.addEventListener("input", filter);
  sort(0, false);
  filter();

  return {
    mark: function (index) {
      rows.forEach(function (row) {
        const here = Number(row.dataset.field) === index;
        row.classList.toggle("chosen", here);
        row.querySelector(".pick").setAttribute("aria-expanded", String(here));
      });
    },
    tellWeeks: function (weeks) {
      rows.forEach(function (row) {
        const index = Number(row.dataset.field), week = weeks.weekOf(index);
        const works = weeks.works(index, week), cell = row.querySelector(".works");
        cell.dataset.key = works === null ? -1 : works;
        cell.querySelector("b").textContent = works === null ? "\u2013" : tenths(works);
        cell.querySelector("small").textContent = week === null ? "" : weeks.farm.days[week];
      });
    }
  };
}
