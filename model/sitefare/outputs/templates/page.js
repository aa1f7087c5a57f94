"use strict";
/* Without this script everything reads; with it long tables sort and the contents fold on a telephone. */
(function () {
  var contents = document.querySelector("nav details");
  if (contents && window.matchMedia("(max-width: 64rem)").matches) contents.removeAttribute("open");
  window.addEventListener("beforeprint", function () { if (contents) contents.setAttribute("open", ""); });

  function key(cell) {
    var given = cell.getAttribute("data-sort");
    if (given !== null) return Number(given);
    return cell.textContent.trim();
  }
  function sort(table, column, down) {
    var body = table.tBodies[0], rows = Array.prototype.slice.call(body.rows);
    rows.sort(function (one, other) {
      var a = key(one.cells[column]), b = key(other.cells[column]), order;
      if (typeof a === "number" && typeof b === "number") order = a - b;
      else order = String(a).localeCompare(String(b), document.documentElement.lang, { numeric: true });
      return down ? -order : order;
    });
    rows.forEach(function (row) { body.appendChild(row); });
  }
  document.querySelectorAll("table.sortable").forEach(function (table) {
    Array.prototype.forEach.call(table.tHead.rows[0].cells, function (head, column) {
      var button = document.createElement("button");
      button.type = "button";
      while (head.firstChild) button.appendChild(head.firstChild);
      head.appendChild(button);
      button.addEventListener("click", function () {
        var down = head.getAttribute("aria-sort") === "ascending";
        Array.prototype.forEach.call(table.tHead.rows[0].cells, function (cell) { cell.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        sort(table, column, down);
      });
    });
  });
})();
