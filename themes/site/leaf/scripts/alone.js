/* Begins a chapter that was sent by itself: its scripts stand before its text. */
"use strict";
(function (P) {
  var slug = document.currentScript.dataset.moves;
  document.addEventListener("DOMContentLoaded", function () {
    P.startSettings();
    P.startReader([slug]);
    P.startExercises([slug]);
  });
})(Plyleaf);
