"use strict";
// Puts all of it on the page, follows what the computer does, and shows its results as they come.
(() => {
  const { Gone, ask, button, isSeason, make, t, url } = Shelf;
  if (document.getElementById("plan") !== null) return;
  const { photos, whichTub, questions, phone, diary } = Shelf;
  const status = make("p", { role: "status", tabIndex: -1 });
  const bar = make("progress", { hidden: true, ariaLabel: t("How far it is") });
  const news = make("div", { className: "news", hidden: true }, make("strong", {}, t("New results are here.")), " ", button(t("Show them"), () => reload()));
  let state = null, round = null, timer = 0, failed = 0, gone = "";

  // Nothing is reloaded from under somebody's fingers.
  const inUse = () => {
    const easel = document.getElementById("easel-box");
    const typing = document.activeElement?.matches?.("input:not([type=file], [type=range], [type=radio], [type=checkbox]), select, textarea") ?? false;
    return typing || (easel !== null && !easel.hidden) || photos.inUse() || whichTub.inUse() || questions.inUse() || phone.inUse() || diary.inUse();
  };

  // ---- The place on the page, over a reload
  const anchors = () => [...document.querySelectorAll("[data-done-tub], .card, section[id]")];
  const keyOf = (element) => JSON.stringify([element.id, element.dataset.doneTub, element.dataset.name]);
  const detailsBy = () => new Map([...document.querySelectorAll("details")].map((details) =>
    [`${keyOf(details.closest("[data-done-tub], .card, section[id], footer") ?? document.body)}: ${details.firstElementChild.textContent}`, details]));
  const fields = () => [...document.querySelectorAll("#chooser input, #chooser select, #views input, #when")];
  const nameOf = (field, at) => field.id || field.dataset.by || `${field.name}=${field.value}` || String(at);
  function reload() {
    const at = anchors().find((element) => element.checkVisibility() && element.getBoundingClientRect().top >= 0);
    sessionStorage.setItem("shelf-place", JSON.stringify({
      page: location.pathname, time: Date.now(),
      anchor: scrollY > 40 && at ? [keyOf(at), at.getBoundingClientRect().top] : null,
      open: [...detailsBy()].map(([key, details]) => [key, details.open]),
      fields: fields().map((field, i) => [nameOf(field, i), field.type === "radio" ? field.checked : field.id === "when" && field.value === field.max ? null : field.value]),
    }));
    history.scrollRestoration = "manual";
    location.reload();
  }
  function bringBack() {
    const place = JSON.parse(sessionStorage.getItem("shelf-place") ?? "null");
    sessionStorage.removeItem("shelf-place");
    if (place === null || place.page !== location.pathname || Date.now() - place.time > 60000) return;
    const was = new Map(place.fields);
    fields().forEach((field, i) => {
      const value = was.get(nameOf(field, i));
      if (value === undefined || value === null || value === false) return;
      if (field.type === "radio" ? field.checked : field.value === value) return;
      if (field.type === "radio") field.checked = true;
      else field.value = value;
      for (const what of ["input", "change"]) field.dispatchEvent(new Event(what, { bubbles: true }));
    });
    const details = detailsBy();
    for (const [key, open] of place.open) if (details.has(key)) details.get(key).open = open;
    // Pictures and lists above it come one by one; whoever moves meanwhile goes where they want.
    let moved = place.anchor === null;
    for (const what of ["wheel", "touchstart", "pointerdown", "keydown"]) addEventListener(what, () => (moved = true), { once: true, passive: true });
    const back = () => {
      const at = !moved && anchors().find((element) => keyOf(element) === place.anchor[0]);
      if (at) scrollBy(0, at.getBoundingClientRect().top - place.anchor[1]);
    };
    for (const ms of [0, 50, 150, 400, 900, 1800]) setTimeout(back, ms);
    setTimeout(() => (history.scrollRestoration = "auto"), 1800);
  }

  // ---- What the computer is doing
  const left = (seconds) => (seconds < 90 ? t("about a minute left") : t("about {n} minutes left", { n: Math.round(seconds / 60) }));
  function showProgress() {
    let now = photos.progress();
    if (now === null && gone) now = { words: gone };
    else if (now === null && state?.busy && state.of > 0)
      now = {
        words: [state.teach.busy ? t("Learning from: {done} of {of} photos", state) : t("Measuring: {done} of {of} photos", state),
          ...(state.seconds_left === null ? [] : [left(state.seconds_left)])].join(", ") + ".",
        value: state.done, max: state.of,
      };
    else if (now === null && state?.busy) now = { words: t("Looking at what is new.") };
    else if (now === null) now = { words: state?.failure ? t("Measuring was not possible. {why}", { why: state.failure }) : "" };
    if (status.textContent !== now.words) status.textContent = now.words;
    bar.hidden = now.value === undefined;
    if (!bar.hidden) [bar.value, bar.max] = [now.value, now.max];
  }
  let looking = false;
  async function look() {
    clearTimeout(timer);
    // One at a time, or each would go on asking by itself.
    if (looking) return void (timer = setTimeout(look, 300));
    looking = true;
    try {
      state = await ask("GET", "state");
      [failed, gone] = [0, ""];
      round ??= state.round;
      if (isSeason) {
        questions.show(state);
        phone.show(state);
      }
      diary.show(state);
      document.dispatchEvent(new CustomEvent("looked", { detail: state }));
      // While more is coming the pages are as old as before.
      const fresh = state.round !== round && !state.busy;
      if (fresh && !inUse()) return void reload();
      news.hidden = !fresh;
    } catch (error) {
      ++failed;
      gone = error instanceof Gone || error.said ? error.message : String(error);
    }
    looking = false;
    showProgress();
    // A computer that is gone is asked less and less often.
    clearTimeout(timer);
    timer = setTimeout(look, failed > 0 ? Math.min(60000, 4000 * 2 ** failed) : state.busy || photos.progress() ? 1000 : 4000);
  }
  Shelf.look = look;
  photos.onChange(() => { showProgress(); if (photos.progress() === null) look(); });
  addEventListener("online", look);
  document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && failed > 0 && look());

  // ---- On each page
  document.querySelectorAll("[data-done-tub]").forEach((card) => {
    const flags = [...card.querySelectorAll("[data-flag]")].map((need) => need.dataset.flag);
    (card.closest(".doing > li") ?? card).append(diary.ofTub(card.dataset.doneTub, flags));
  });
  const section = make("section", { id: "shelf", ariaLabel: t("Photos") });
  if (isSeason) {
    section.append(make("div", { className: "row" }, ...photos.controls, phone.open), phone.place, status, bar, news, ...photos.below, ...questions.below);
    document.querySelector("nav ul")?.append(make("li", {}, make("a", { href: url("plan") }, t("Plan and labels"))));
    document.getElementById("doing")?.append(diary.ofSeason());
  } else {
    section.append(status, bar, news);
  }
  document.querySelector("main").prepend(section);
  bringBack();
  look();
})();
