"use strict";
// Filter and order of the cards. Without a script all of them are there, in the order of the plan.
(() => {
  const list = document.getElementById("cards");
  const words = (card) => ({ ...card, words: card.data.words.toLowerCase() });
  const cards = [...list.children].map((element, place) => words({ place, data: element.dataset, element }));

  // Of many cards the later ones are text, made into elements when they are wanted. Without a script they show.
  const plain = (text) => {
    if (!text.includes("&")) return text;
    const area = document.createElement("textarea");
    area.innerHTML = text;
    return area.value;
  };
  const rest = document.getElementById("rest");
  for (const html of rest ? rest.textContent.split(/(?=<li class="card")/).slice(1) : []) {
    const data = {};
    for (const [, key, text] of html.slice(0, html.indexOf(">")).matchAll(/data-([a-z]+)="([^"]*)"/g)) data[key] = plain(text);
    cards.push(words({ place: cards.length, data, html }));
  }
  const elementOf = (card) => {
    if (!card.element) {
      const mould = document.createElement("template");
      mould.innerHTML = card.html;
      card.element = mould.content.firstElementChild;
    }
    return card.element;
  };

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

  let ordered = cards, fitting = cards;
  const atOnce = rest ? 60 : Infinity;
  const more = document.getElementById("more");
  const showMore = (most = atOnce) => {
    const from = list.childElementCount;
    list.append(...fitting.slice(from, from + most).map(elementOf));
    if (more) more.hidden = list.childElementCount >= fitting.length;
  };
  const choose = () => {
    const sought = find.value.toLowerCase().split(/\s+/).filter(Boolean);
    fitting = ordered.filter((card) => fits(card, sought));
    list.replaceChildren();
    showMore();
    shown.textContent = t("{count} of {all} shown", { count: fitting.length, all: cards.length });
    none.hidden = fitting.length > 0 || cards.length === 0;
  };
  const arrange = () => {
    ordered = [...cards].sort(compare(order.value));
    choose();
  };
  if (more) {
    const watcher = new IntersectionObserver((seen) => {
      if (!seen.some((one) => one.isIntersecting)) return;
      showMore();
      watcher.unobserve(more);  // told again if it is still near
      watcher.observe(more);
    }, { rootMargin: "1500px" });
    watcher.observe(more);
    addEventListener("beforeprint", () => showMore(Infinity));
  }

  chooser.addEventListener("input", (event) => (event.target === order ? arrange() : choose()));
  chooser.addEventListener("submit", (event) => event.preventDefault());
  chooser.hidden = false;
  arrange();  // a browser may bring the last choice back
})();
