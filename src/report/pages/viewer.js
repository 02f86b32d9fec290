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

  const view = () => document.querySelector("input[name=view]:checked").value;
  const showView = () => {
    const flat = view() === "wall" || view() === "growth";
    byId("photo-sight").hidden = flat;
    if (byId("wall-sight")) byId("wall-sight").hidden = !flat;
    for (const id of ["growth", "growth-legend"]) if (byId(id)) byId(id).hidden = view() !== "growth";
  };

  // Where it was pointed at stays in the middle.
  const lens = byId("lens");
  const zoom = (on, x = 0.5, y = 0.5) => {
    lens.classList.toggle("closer", on);
    byId("zoom").setAttribute("aria-pressed", on);
    byId("zoom").textContent = on ? t("Whole") : t("Closer");
    lens.scrollTo(x * lens.scrollWidth - lens.clientWidth / 2, y * lens.scrollHeight - lens.clientHeight / 2);
  };
  const isCloser = () => lens.classList.contains("closer");

  const choose = (place) => {
    chosen = Math.min(Math.max(place, 0), season.photos.length - 1);
    const photo = season.photos[chosen];
    setPicture(byId("photo"), photo.photo, photo.alt);
    setPicture(byId("found"), view() === "found" ? photo.found : null);
    setPicture(byId("wall"), photo.wall, t("The unrolled wall on {date}", { date: photo.heading }));
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
  byId("views").addEventListener("change", () => {
    showView();
    choose(chosen);
  });
  byId("zoom").addEventListener("click", () => zoom(!isCloser()));
  lens.addEventListener("dblclick", (event) => {
    const box = event.target.getBoundingClientRect();
    zoom(!isCloser(), (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  });
  links.forEach((link, i) =>
    link.addEventListener("click", (event) => {
      event.preventDefault();
      choose(i);
    }));
  byId("slide").hidden = false;
  byId("slide").classList.toggle("alone", season.photos.length < 2);
  byId("views").hidden = false;
  showView();
  choose(chosen);
  return { choose, photo: () => season.photos[chosen], whenChosen: (listener) => listeners.push(listener) };
})();
