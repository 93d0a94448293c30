/* Begins what the page is for; the builder names it on this very script. */
"use strict";
(function (P) {
  var told = document.currentScript.dataset;
  var slugs = (told.moves || "").split(" ").filter(Boolean);
  P.startSettings();
  if (told.use === "reading" && slugs.length) {
    P.startReader(slugs);
    P.startExercises(slugs);
  }
  if (told.use === "practice") P.startPractice();
  if (told.use === "finding") P.startFinding();
})(Plyleaf);
