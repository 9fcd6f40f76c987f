(function () {
  "use strict";
  var main = document.querySelector("main");
  var key = main.getAttribute("data-key");
  var boxes = Array.prototype.slice.call(main.querySelectorAll("input[type=checkbox]"));
  var bar = document.getElementById("bar");
  var count = document.getElementById("count");
  function kept() {
    try {
      var found = JSON.parse(window.localStorage.getItem(key) || "[]");
      return Array.isArray(found) ? found : [];
    } catch (error) {
      return null;
    }
  }
  function show() {
    var done = boxes.filter(function (box) { return box.checked; }).length;
    count.textContent = done + " of " + boxes.length + " done";
  }
  function keep() {
    var ticked = boxes.filter(function (box) { return box.checked; });
    var names = ticked.map(function (box) { return box.id; });
    try {
      window.localStorage.setItem(key, JSON.stringify(names));
    } catch (error) {
      /* The page works on without a memory. */
    }
    show();
  }
  function restore() {
    var names = kept();
    if (names) {
      boxes.forEach(function (box) { box.checked = names.indexOf(box.id) >= 0; });
    }
    show();
  }
  boxes.forEach(function (box) { box.addEventListener("change", keep); });
  document.getElementById("clear").addEventListener("click", function () {
    if (window.confirm("Take all ticks away?")) {
      boxes.forEach(function (box) { box.checked = false; });
      keep();
    }
  });
  window.addEventListener("storage", function (event) {
    if (event.key === key) { restore(); }
  });
  bar.hidden = boxes.length === 0;
  restore();
})();
