"use strict";
// The page's words in its language, by their English with its {places}.
const t = (() => {
  const table = JSON.parse(document.getElementById("words")?.textContent ?? "{}");
  return (english, places = {}) => (table[english] ?? english).replace(/\{(\w+)\}/g, (all, name) => places[name] ?? all);
})();
