"use strict";
// The photos of a cutting through time. What is chosen here, the graph and the easel follow.
const season = JSON.parse(document.getElementById("data").textContent);
const byId = (id) => document.getElementById(id);

const viewer = (() => {
  if (season.photos.length === 0) return null;
  const listeners = [];
  const links = [...byId("strip").querySelectorAll("a")];
  const when = byId("when");
  let chosen = season.photos.length - 1;

  const setPicture = (image, source, words) => {
    if (!image) return;
    image.hidden = source === null;
    if (source === null) return;
    image.src = source;
    if (words !== undefined) image.alt = words;
  };

  const choose = (place) => {
    chosen = Math.min(Math.max(place, 0), season.photos.length - 1);
    const photo = season.photos[chosen];
    setPicture(byId("photo"), photo.photo, photo.alt);
    setPicture(byId("found"), byId("show-found").checked ? photo.found : null);
    setPicture(byId("wall"), photo.wall, `The unrolled wall on ${photo.heading}`);
    if (byId("growth")) byId("growth").hidden = !byId("show-growth").checked;
    byId("caption").replaceChildren(
      Object.assign(document.createElement("strong"), { textContent: photo.heading }), `: ${photo.caption}`);
    when.value = chosen;
    when.setAttribute("aria-valuetext", photo.heading);
    byId("earlier").disabled = chosen === 0;
    byId("later").disabled = chosen === season.photos.length - 1;
    links.forEach((link, i) => link.toggleAttribute("aria-current", i === chosen));
    links[chosen].setAttribute("aria-current", "true");
    const strip = byId("strip");
    strip.scrollLeft = links[chosen].offsetLeft - strip.offsetLeft - strip.clientWidth / 2;
    listeners.forEach((listener) => listener(photo, chosen));
  };

  when.addEventListener("input", () => choose(Number(when.value)));
  byId("earlier").addEventListener("click", () => choose(chosen - 1));
  byId("later").addEventListener("click", () => choose(chosen + 1));
  byId("show-found").addEventListener("change", () => choose(chosen));
  byId("show-growth")?.addEventListener("change", () => choose(chosen));
  links.forEach((link, i) =>
    link.addEventListener("click", (event) => {
      event.preventDefault();
      choose(i);
    }));
  byId("slide").hidden = season.photos.length < 2;
  byId("found-choice").hidden = false;
  if (byId("growth-choice")) byId("growth-choice").hidden = false;
  choose(chosen);
  return { choose, photo: () => season.photos[chosen], whenChosen: (listener) => listeners.push(listener) };
})();
