"use strict";
// Sorts and filters the table of cubes; without it the page is the same, only in one order.
(() => {
  const table = document.getElementById("cubes");
  if (!table) return;
  const body = table.tBodies[0];
  const rows = [...body.rows];
  const filter = document.getElementById("filter");
  const shown = document.getElementById("shown");
  const heads = [...table.tHead.rows[0].cells];
  const key = (row, column) => {
    const cell = row.cells[column];
    return cell.dataset.key === undefined ? cell.textContent.trim() : Number(cell.dataset.key);
  };
  const compare = new Intl.Collator("en", { numeric: true, sensitivity: "base" }).compare;
  heads.forEach((head, column) => {
    head.firstChild.addEventListener("click", () => {
      const falling = head.getAttribute("aria-sort") === "ascending";
      for (const other of heads) other.setAttribute("aria-sort", "none");
      head.setAttribute("aria-sort", falling ? "descending" : "ascending");
      rows.sort((one, other) => {
        const [a, b] = [key(one, column), key(other, column)];
        const order = typeof a === "number" ? a - b : compare(a, b);
        return falling ? -order : order;
      });
      body.append(...rows);
    });
  });
  // No keyboard has the sign of 6×6×6.
  const plain = (text) => text.toLowerCase().replaceAll("×", "x");
  const apply = () => {
    const words = plain(filter.value).split(/\s+/).filter(Boolean);
    let count = 0;
    for (const row of rows) {
      const text = plain(row.textContent);
      row.hidden = !words.every((word) => text.includes(word));
      const link = row.querySelector("a");
      const card = link && document.getElementById(link.hash.slice(1));
      if (card) card.hidden = row.hidden;
      if (!row.hidden) count += 1;
    }
    const found = count > 0 ? `${count} of ${rows.length}` : "No cube has all of this; show all by emptying the field";
    shown.value = words.length ? found : "";
  };
  filter.addEventListener("input", apply);
  window.lesson = { filter, apply };
})();
