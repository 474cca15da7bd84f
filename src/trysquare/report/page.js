(function () {
  "use strict";
  var rows = Array.prototype.slice.call(document.querySelectorAll("details.req"));
  var field = document.getElementById("filter"), none = document.getElementById("none");
  document.documentElement.classList.add("js");
  function shown() { return rows.filter(function (r) { return !r.hidden; }); }
  function here() { return document.activeElement && document.activeElement.closest ? document.activeElement.closest("details.req") : null; }
  function go(row) {
    if (!row) { return; }
    var s = row.querySelector("summary");
    s.focus({ preventScroll: true });
    s.scrollIntoView({ block: "nearest" });
  }
  function step(by) {
    var list = shown(), at = list.indexOf(here());
    go(at < 0 ? list[by > 0 ? 0 : list.length - 1] : list[Math.min(list.length - 1, Math.max(0, at + by))]);
  }
  function next() {
    var list = shown(), at = list.indexOf(here());
    for (var i = 1; i <= list.length; i++) {
      var row = list[(at + i + list.length) % list.length];
      if (row.classList.contains("undecided")) { go(row); return; }
    }
  }
  function sift() {
    var words = field.value.toLowerCase().split(/\s+/).filter(Boolean), left = 0;
    rows.forEach(function (row) {
      var text = row.getAttribute("data-words");
      row.hidden = !words.every(function (w) { return text.indexOf(w) >= 0; });
      left += row.hidden ? 0 : 1;
    });
    none.hidden = left > 0;
  }
  field.addEventListener("input", sift);
  document.addEventListener("keydown", function (e) {
    if (e.ctrlKey || e.metaKey || e.altKey) { return; }
    var typing = document.activeElement === field, row = here();
    if (e.key === "Escape") {
      if (typing) { if (field.value) { field.value = ""; sift(); } else { field.blur(); go(shown()[0]); } }
      else if (row && row.open) { row.open = false; go(row); }
      else { return; }
      e.preventDefault();
    } else if (e.key === "ArrowDown") { step(1); e.preventDefault(); }
    else if (typing) { if (e.key === "Enter") { go(shown()[0]); e.preventDefault(); } }
    else if (e.key === "ArrowUp") { step(-1); e.preventDefault(); }
    else if (e.key === "n") { next(); e.preventDefault(); }
    else if (e.key === "/") { field.focus(); field.select(); e.preventDefault(); }
  });
  function aim() {
    var row = location.hash.length > 1 ? document.getElementById(decodeURIComponent(location.hash.slice(1))) : null;
    if (row && row.classList.contains("req")) { row.open = true; go(row); }
  }
  window.addEventListener("hashchange", aim);
  aim();
})();
