"use strict";
// Filter and order of the cards. Without a script all of them are there, in the order of the plan.
(() => {
  const list = document.getElementById("cards");
  const cards = [...list.children].map((element, place) => ({
    element, place, data: element.dataset, words: element.dataset.words.toLowerCase(),
  }));
  const chooser = document.getElementById("chooser");
  const find = document.getElementById("find");
  const order = document.getElementById("order");
  const choices = [...chooser.querySelectorAll("[data-by]")];
  const shown = document.getElementById("shown");
  const none = document.getElementById("none");

  const fits = (card, words) =>
    words.every((word) => card.words.includes(word)) &&
    choices.every((choice) => choice.value === "" || card.data[choice.dataset.by] === choice.value);

  // Unknown figures come last, whichever way the order runs.
  const value = (card, by) => (by === "place" ? card.place : card.data[by] === "" ? NaN : Number(card.data[by]));
  const compare = (by) => {
    if (by === "name") return (a, b) => a.data.name.localeCompare(b.data.name, undefined, { numeric: true });
    const sign = by.startsWith("-") ? -1 : 1;
    const key = by.replace("-", "");
    return (a, b) => {
      const x = value(a, key), y = value(b, key);
      if (Number.isNaN(x) || Number.isNaN(y)) return Number.isNaN(x) - Number.isNaN(y) || a.place - b.place;
      return sign * (x - y) || a.place - b.place;
    };
  };

  const choose = () => {
    const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const card of cards) {
      const fit = fits(card, words);
      card.element.hidden = !fit;
      count += fit;
    }
    shown.textContent = t("{count} of {all} shown", { count, all: cards.length });
    none.hidden = count > 0 || cards.length === 0;
  };
  const arrange = () => list.append(...[...cards].sort(compare(order.value)).map((card) => card.element));

  chooser.addEventListener("input", (event) => (event.target === order ? arrange() : choose()));
  chooser.addEventListener("submit", (event) => event.preventDefault());
  chooser.hidden = false;
  choose();
  if (order.value !== "place") arrange();  // a browser may bring the last choice back
})();
