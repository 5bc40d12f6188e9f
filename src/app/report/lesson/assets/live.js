"use strict";
// While photos are still coming in: the page is loaded anew every few seconds and stays where it was.
(() => {
  const place = `${location.pathname}-place`;
  const note = document.createElement("p");
  note.className = "live";
  note.textContent = "Watching the folder: this page follows by itself";
  document.querySelector("header.top").append(note);
  try {
    const was = JSON.parse(sessionStorage.getItem(place) || "null");
    if (was) {
      if (window.lesson && was.filter) {
        window.lesson.filter.value = was.filter;
        window.lesson.apply();
      }
      scrollTo(0, was.top);
    }
  } catch { /* Without storage the page begins at its top. */ }
  setInterval(() => {
    if (document.hidden || document.activeElement === document.getElementById("filter")) return;
    try {
      const filter = window.lesson ? window.lesson.filter.value : "";
      sessionStorage.setItem(place, JSON.stringify({ top: scrollY, filter }));
    } catch { /* As above. */ }
    location.reload();
  }, 4000);
})();
