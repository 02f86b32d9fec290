"use strict";
// What can be done on a page that `slipglass shelf` serves: send photos, say which tub one shows, write down what
// was done, correct what was found. A page opened as a file has none of this, and needs none.
const Shelf = (() => {
  const base = new URL(".", document.currentScript.src);
  // The program puts the table before this script, where the season is read in another language.
  const table = typeof shelfWords === "undefined" ? {} : shelfWords;
  const t = (english, places = {}) => (table[english] ?? english).replace(/\{(\w+)\}/g, (all, name) => places[name] ?? all);
  const url = (path) => new URL(path, base).href;

  // The computer does not answer: asking on and on does not help.
  class Gone extends Error {
    constructor() {
      super(t("The computer with the season does not answer. Is slipglass shelf still running, and this device in the same network?"));
    }
  }
  const ask = async (method, path, body, type = "application/json") => {
    let answer;
    try {
      answer = await fetch(url(path), { method, body, headers: body === undefined ? {} : { "Content-Type": type } });
    } catch {
      throw new Gone();
    }
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) throw Object.assign(new Error(said.error ?? t("Not possible ({status}). Open the address again that slipglass shelf shows.", { status: answer.status })), { said });
    return said;
  };
  const send = (path, value) => ask("POST", path, JSON.stringify(value));

  const make = (tag, attributes = {}, ...inside) => {
    const element = Object.assign(document.createElement(tag), attributes);
    element.append(...inside);
    return element;
  };
  const button = (words, press, attributes = {}) => {
    const made = make("button", { type: "button", ...attributes }, words);
    made.addEventListener("click", press);
    return made;
  };
  const iso = (date) => `${date.getFullYear()}-${String(date.getMonth() + 1).padStart(2, "0")}-${String(date.getDate()).padStart(2, "0")}`;
  const isSeason = document.querySelector("#glance, #no-photo-yet") !== null;
  return { Gone, ask, button, isSeason, iso, make, send, t, url };
})();
