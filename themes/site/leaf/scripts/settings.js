/* Type and light: what the reader chooses, kept on the device. */
"use strict";
(function (P) {
  P.startSettings = function () {
    var dialog = P.el("dialog", { class: "settings", "aria-labelledby": "settings-title" },
      P.el("h2", { id: "settings-title" }, P.say("settings")),
      choice("light", [["", "light_device"], ["day", "light_day"], ["night", "light_night"]],
        P.reading.light || "", function (value) { mark("light", value); }),
      choice("text_size", [["small", "size_small"], ["", "size_usual"], ["large", "size_large"],
        ["larger", "size_larger"]], P.reading.size || "", function (value) { mark("size", value); }),
      choice("piece_names", [["figurines", "figurines"], ["letters", "letters"]],
        P.figurines() ? "figurines" : "letters", function (value) {
          P.reading.pieces = value;
          P.keep.write("reading", P.reading);
          setPieces();
        }),
      P.el("p", { class: "ends" }, P.el("button", { type: "button", class: "plain", click: function () { dialog.close(); } },
        P.say("close"))));
    dialog.addEventListener("click", function (event) { if (event.target === dialog) dialog.close(); });
    document.body.append(dialog);
    [".masthead", ".parts", ".contents .toc"].forEach(function (place) {
      var at = document.querySelector(place);
      if (at) at.append(P.el("button", { type: "button", class: "to-settings", click: function () { dialog.showModal(); } },
        P.say("settings")));
    });
    if (P.figurines() !== P.data.booklet.figurines) setPieces();
  };

  function choice(key, options, chosen, change) {
    var set = P.el("fieldset", {}, P.el("legend", {}, P.say(key)));
    options.forEach(function (option) {
      var input = P.el("input", { type: "radio", name: "settings-" + key, value: option[0],
        change: function () { change(option[0]); } });
      input.checked = option[0] === chosen;
      set.append(P.el("label", {}, input, " ", P.say(option[1])));
    });
    return set;
  }

  function mark(name, value) {
    var root = document.documentElement;
    if (value) root.dataset[name] = value; else delete root.dataset[name];
    P.reading[name] = value;
    P.keep.write("reading", P.reading);
  }

  /* Rewrites every move on the page. Figurines are standard letters in a face that draws them. */
  function setPieces() {
    var figurines = P.figurines(), root = document.documentElement;
    var now = root.classList.contains("figurine");
    if (figurines === now) return;
    root.classList.toggle("figurine", figurines);
    document.querySelectorAll(".move").forEach(function (move) {
      var walk = document.createTreeWalker(move, NodeFilter.SHOW_TEXT), text;
      while ((text = walk.nextNode())) text.data = P.rewrite(text.data, figurines);
    });
  }
})(Plyleaf);
