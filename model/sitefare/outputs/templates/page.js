"use strict";
/* Without this script everything reads. With it charts answer, long tables sort and filter, the
   contents follow the reader, and the colours can be chosen. Nothing here moves by itself. */
(function () {
  var words = JSON.parse(document.body.getAttribute("data-words"));
  var root = document.documentElement, small = window.matchMedia("(max-width: 64rem)");
  function all(query, within) { return Array.prototype.slice.call((within || document).querySelectorAll(query)); }
  function make(tag, name, text) {
    var made = document.createElement(tag);
    if (name) made.className = name;
    if (text) made.textContent = text;
    return made;
  }
  function fill(text, values) {
    return text.replace(/\{(\w+)\}/g, function (_, name) { return values[name]; });
  }

  /* Colours: as the device asks, or as the reader chooses. */
  function colours() {
    var box = make("p", "colours"), label = make("label", "", words.colours), choice = make("select");
    label.htmlFor = choice.id = "colours";
    [["", words.as_device], ["light", words.light], ["dark", words.dark]].forEach(function (pair) {
      var option = make("option", "", pair[1]);
      option.value = pair[0];
      choice.appendChild(option);
    });
    function put(value) {
      if (value) root.setAttribute("data-colours", value); else root.removeAttribute("data-colours");
    }
    try { choice.value = window.localStorage.getItem("sitefare-colours") || ""; } catch (_) { choice.value = ""; }
    put(choice.value);
    choice.addEventListener("change", function () {
      put(choice.value);
      try { window.localStorage.setItem("sitefare-colours", choice.value); } catch (_) { /* kept for this visit */ }
    });
    box.appendChild(label);
    box.appendChild(choice);
    document.querySelector("nav .panel").appendChild(box);
  }

  /* Contents: where the reader is; on a telephone the panel opens over the text. */
  function contents() {
    var panel = document.querySelector("nav details"), head = panel.querySelector("summary");
    var links = all("nav a[href]"), now = head.querySelector(".now"), waiting = false;
    var aims = links.map(function (link) { return document.getElementById(link.getAttribute("href").slice(1)); });
    function fold() { if (small.matches) panel.removeAttribute("open"); else panel.setAttribute("open", ""); }
    function mark() {
      var here = -1, chapter = null;
      waiting = false;
      aims.forEach(function (aim, n) { if (aim.getBoundingClientRect().top < window.innerHeight * 0.3) here = n; });
      links.forEach(function (link, n) {
        var item = link.parentNode;
        if (n === here) link.setAttribute("aria-current", "location"); else link.removeAttribute("aria-current");
        if (n === here) chapter = item.closest("nav .chapter");
      });
      all("nav .chapter").forEach(function (item) { item.classList.toggle("open", item === chapter); });
      now.textContent = here < 0 ? "" : links[here].textContent;
      if (here >= 0 && !small.matches) {
        var box = document.querySelector("nav"), place = links[here].getBoundingClientRect();
        if (place.top < 0 || place.bottom > window.innerHeight) box.scrollTop += place.top - window.innerHeight / 3;
      }
    }
    function later() { if (!waiting) { waiting = true; window.requestAnimationFrame(mark); } }
    window.addEventListener("scroll", later, { passive: true });
    window.addEventListener("resize", later);
    small.addEventListener("change", fold);
    panel.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && small.matches && panel.open) { panel.open = false; head.focus(); }
    });
    panel.addEventListener("click", function (event) {
      if (small.matches && event.target.closest("a")) panel.open = false;
    });
    document.addEventListener("click", function (event) {
      if (small.matches && !panel.contains(event.target)) panel.open = false;
    });
    fold();
    mark();
  }

  /* Charts: a mark says its value when it is pointed at, touched or reached with the arrow keys.
     The words go away with Escape, stay while they are pointed at, and stay until left. */
  var shown = null, tip = make("div", "tip"), leaving = 0;
  tip.dir = "auto";
  function hide() {
    window.clearTimeout(leaving);
    if (shown) shown.classList.remove("on");
    if (tip.parentNode) tip.parentNode.removeChild(tip);
    shown = null;
  }
  function leave() { window.clearTimeout(leaving); leaving = window.setTimeout(hide, 500); }
  function show(chart, mark) {
    window.clearTimeout(leaving);
    if (mark === shown) return;
    hide();
    shown = mark;
    mark.classList.add("on");
    tip.textContent = mark.getAttribute("data-said");
    chart.appendChild(tip);
    var frame = chart.getBoundingClientRect(), box = mark.getBoundingClientRect();
    var middle = box.left + box.width / 2 - frame.left, top = box.top - frame.top - tip.offsetHeight - 4;
    tip.style.left = Math.max(0, Math.min(middle - tip.offsetWidth / 2, frame.width - tip.offsetWidth)) + "px";
    tip.style.top = (frame.top + top < 48 ? box.bottom - frame.top + 4 : top) + "px";
  }
  function nearest(marks, x, y, reach) {
    var best = null, least = reach;
    marks.forEach(function (mark) {
      var box = mark.getBoundingClientRect();
      var dx = Math.max(box.left - x, 0, x - box.right), dy = Math.max(box.top - y, 0, y - box.bottom);
      var far = Math.sqrt(dx * dx + dy * dy);
      if (far < least) { least = far; best = mark; }
    });
    return best;
  }
  function answers(chart) {
    if (!chart.querySelector("[data-said]")) return;
    var reader = make("div", "reader"), at = 0, finding = chart.parentNode.querySelector(".finding");
    function marks() {
      return all("[data-said]", chart).filter(function (mark) { return mark.getClientRects().length; });
    }
    function found(event, reach) {
      return event.target.closest("[data-said]") || nearest(marks(), event.clientX, event.clientY, reach);
    }
    function tell(place, also) {
      var list = marks();
      if (!list.length) return;
      at = Math.max(0, Math.min(place, list.length - 1));
      reader.setAttribute("aria-valuemax", list.length);
      reader.setAttribute("aria-valuenow", at + 1);
      reader.setAttribute("aria-valuetext", list[at].getAttribute("data-said"));
      if (also) show(chart, list[at]);
    }
    reader.tabIndex = 0;
    reader.setAttribute("role", "slider");
    reader.setAttribute("aria-label", finding.textContent + " " + words.chart_values);
    reader.setAttribute("aria-valuemin", "1");
    chart.appendChild(reader);
    tell(0, false);
    chart.addEventListener("pointermove", function (event) {
      if (event.pointerType === "touch") return;
      if (tip.contains(event.target)) { window.clearTimeout(leaving); return; }
      var mark = found(event, 16);
      if (mark) show(chart, mark); else if (shown) leave();
    });
    chart.addEventListener("pointerleave", function (event) { if (event.pointerType !== "touch") leave(); });
    chart.addEventListener("click", function (event) {
      var mark = tip.contains(event.target) ? null : found(event, 40);
      if (mark) show(chart, mark);
    });
    reader.addEventListener("focus", function () { if (reader.matches(":focus-visible")) tell(at, true); });
    reader.addEventListener("blur", hide);
    reader.addEventListener("keydown", function (event) {
      var step = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
      if (event.key === "Home") tell(0, true);
      else if (event.key === "End") tell(marks().length - 1, true);
      else if (step) tell(at + step, true);
      else return;
      event.preventDefault();
    });
  }

  /* Tables: sort by a column, show only rows with some words; a wide one scrolls by keys. */
  function key(cell) {
    var given = cell.getAttribute("data-sort"), text = cell.textContent.trim();
    if (given !== null) return Number(given);
    var number = Number(text.replace(/−/g, "-").replace(/,/g, ""));
    return text !== "" && !isNaN(number) ? number : text;
  }
  function compare(a, b) {
    if (typeof a === "number" && typeof b === "number") return a - b;
    if (typeof a !== typeof b) return typeof a === "number" ? -1 : 1;
    return a.localeCompare(b, root.lang, { numeric: true });
  }
  function sort(table, column, down) {
    var body = table.tBodies[0], rows = Array.prototype.map.call(body.rows, function (row) {
      return [key(row.cells[column]), row];
    });
    rows.sort(function (one, other) {
      var blank = (one[0] === "" || one[0] === "–") - (other[0] === "" || other[0] === "–");
      return blank || (down ? -1 : 1) * compare(one[0], other[0]);
    });
    rows.forEach(function (pair) { body.appendChild(pair[1]); });
  }
  function sortable(table) {
    var heads = Array.prototype.slice.call(table.tHead.rows[0].cells), said = make("p", "unseen");
    var block = table.closest(".table-block"), box = make("div", "finder"), input = make("input");
    var label = make("label", "", words.filter), note = make("span", "finder-note", words.filter_note);
    var count = make("p", "count"), rows = Array.prototype.slice.call(table.tBodies[0].rows);
    var texts = rows.map(function (row) { return row.textContent.toLowerCase(); });
    function filter() {
      var asked = input.value.toLowerCase().split(/\s+/).filter(Boolean), shown = 0;
      rows.forEach(function (row, n) {
        row.hidden = !asked.every(function (word) { return texts[n].indexOf(word) >= 0; });
        if (!row.hidden) shown += 1;
      });
      count.textContent = asked.length ? fill(words.rows_shown, { shown: shown, all: rows.length }) : "";
    }
    heads.forEach(function (head, column) {
      var button = make("button"), name = head.firstChild.textContent.trim();
      button.type = "button";
      while (head.firstChild) button.appendChild(head.firstChild);
      head.appendChild(button);
      button.addEventListener("click", function () {
        var down = head.getAttribute("aria-sort") === "ascending";
        heads.forEach(function (cell) { cell.removeAttribute("aria-sort"); });
        head.setAttribute("aria-sort", down ? "descending" : "ascending");
        sort(table, column, down);
        said.textContent = fill(down ? words.sorted_down : words.sorted_up, { column: name });
      });
    });
    input.type = "search";
    input.autocomplete = "off";
    label.htmlFor = input.id = block.id + "-filter";
    note.id = block.id + "-note";
    input.setAttribute("aria-describedby", note.id);
    count.setAttribute("role", "status");
    said.setAttribute("role", "status");
    input.addEventListener("input", filter);
    input.addEventListener("keydown", function (event) {
      if (event.key === "Escape" && input.value) { input.value = ""; filter(); event.preventDefault(); }
    });
    [label, input, note, count, said].forEach(function (part) { box.appendChild(part); });
    block.insertBefore(box, block.firstChild);
    window.addEventListener("hashchange", function () {
      var aim = document.getElementById(decodeURIComponent(location.hash.slice(1)));
      if (aim && aim.hidden && table.contains(aim)) { input.value = ""; filter(); aim.scrollIntoView(); }
    });
    window.addEventListener("beforeprint", function () { rows.forEach(function (row) { row.hidden = false; }); });
    window.addEventListener("afterprint", filter);
  }
  function scrolling() {
    all(".scroll").forEach(function (box) {
      var over = box.scrollWidth > box.clientWidth + 1;
      if (over) box.tabIndex = 0; else box.removeAttribute("tabindex");
      if (!box.name) box.name = box.getAttribute("aria-labelledby");
      if (over) box.setAttribute("role", "group"); else box.removeAttribute("role");
      if (over) box.setAttribute("aria-labelledby", box.name); else box.removeAttribute("aria-labelledby");
      box.classList.toggle("over", over);
    });
  }
  function ends(event) {
    var box = event.target;
    box.classList.toggle("end", Math.abs(box.scrollLeft) + box.clientWidth > box.scrollWidth - 4);
  }

  colours();
  contents();
  all("table.sortable").forEach(sortable);
  all(".chart").forEach(answers);
  scrolling();
  all(".scroll").forEach(function (box) { box.addEventListener("scroll", ends, { passive: true }); });
  if (window.ResizeObserver) {
    var watch = new ResizeObserver(scrolling);
    all(".scroll, .scroll > table").forEach(function (part) { watch.observe(part); });
  } else window.addEventListener("resize", scrolling);
  document.addEventListener("keydown", function (event) { if (event.key === "Escape") hide(); });
  document.addEventListener("pointerdown", function (event) { if (!event.target.closest(".chart")) hide(); });
})();
