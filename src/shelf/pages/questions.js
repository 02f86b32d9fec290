"use strict";
// Which tub is this? Asked of photos that nothing tells the tub of; and a tub known by its grains can be denied.
Shelf.questions = (() => {
  const { button, make, send, t, url } = Shelf;
  const few = 12;  // tubs to choose from by a touch
  const list = make("div", {});
  const found = make("div", {});
  const open = new Map();  // photo -> its box
  const denied = new Map();
  const answered = new Set();  // until the computer has seen to it
  let foundNow = "";

  const box = (one, tubs) => {
    const said = make("p", { className: "wrong", role: "alert" });
    const answer = async (tub) => {
      if (!tub) return void (said.textContent = t("Type the tub's name first, as T01."));
      try {
        await send("tub", { photo: one.photo, tub });
        denied.delete(one.photo);
        answered.add(one.photo);
        open.delete(one.photo);
        element.remove();
        (list.querySelector("h3") ?? document.querySelector("#shelf [role=status]"))?.focus();
        Shelf.look();
      } catch (error) {
        said.textContent = error.message;
      }
    };
    const likely = one.likely.map(({ tub, picture }) => {
      const choice = button(tub, () => answer(tub));
      if (picture) choice.prepend(make("img", { src: url(picture), alt: "" }));
      return choice;
    });
    const others = tubs.filter((tub) => !one.likely.some((l) => l.tub === tub));
    let choice = others.map((tub) => button(tub, () => answer(tub)));
    if (others.length > few) {
      const select = make("select", {}, ...others.map((tub) => make("option", {}, tub)));
      choice = [make("label", {}, t("Tub"), " ", select), button(t("This one"), () => answer(select.value))];
    }
    const fresh = make("input", { type: "text", autocomplete: "off", size: 8, maxLength: 40 });
    fresh.addEventListener("keydown", (event) => event.key === "Enter" && answer(fresh.value.trim()));
    const element = make("section", { className: "question", ariaLabel: t("Which tub is on {photo}?", { photo: one.photo }) },
      make("img", { src: url(`sent?${new URLSearchParams({ photo: one.photo })}`), alt: t("The photo that is asked about") }),
      make("div", {},
        make("h3", { tabIndex: -1 }, t("Which tub is this?")),
        make("p", { className: "soft" }, one.photo),
        ...(likely.length ? [make("p", {}, t("Perhaps:")), make("div", { className: "row likely" }, ...likely)] : []),
        ...(choice.length ? [make("p", {}, likely.length ? t("Or:") : t("It is:")), make("div", { className: "row" }, ...choice)] : []),
        make("p", {}, choice.length || likely.length ? t("Or a tub that has no photo yet:") : t("Give the tub a name:")),
        make("div", { className: "row" }, make("label", {}, t("Name"), " ", fresh), button(t("It is new"), () => answer(fresh.value.trim()))),
        said));
    element.inUse = () => fresh.value.trim() !== "" || element.contains(document.activeElement);
    return element;
  };

  const show = (state) => {
    if (!state.busy) answered.clear();
    const own = [...state.asked.filter((one) => one.own && !answered.has(one.photo)), ...denied.values()];
    for (const [photo, was] of open)
      if (!own.some((one) => one.photo === photo)) {
        was.remove();
        open.delete(photo);
      }
    for (const one of own) {
      const says = JSON.stringify([one.likely, state.tubs]);
      const was = open.get(one.photo);
      // What comes next may answer it.
      if (was ? was.says === says || was.inUse() : state.busy && !denied.has(one.photo)) continue;
      const now = Object.assign(box(one, state.tubs), { says });
      if (was) was.replaceWith(now);
      else list.append(now);
      open.set(one.photo, now);
    }
    const grains = JSON.stringify(state.by_grains);
    if (grains === foundNow || found.contains(document.activeElement)) return;
    foundNow = grains;
    const lines = state.by_grains.map((one) => make("li", {}, t("{photo} is {tub}, known by the grains of its wall.", one), " ", button(t("Not so"), () => {
      denied.set(one.photo, { photo: one.photo, likely: [], own: true });
      show(state);
      open.get(one.photo).querySelector("h3").focus();
    }, { ariaLabel: t("Not so: {photo} is not {tub}", one) })));
    const all = make("ul", { className: "found" }, ...lines);
    if (lines.length > 3) found.replaceChildren(make("details", {}, make("summary", {}, t("{count} photos known by the grains of their wall", { count: lines.length })), all));
    else found.replaceChildren(...(lines.length ? [all] : []));
  };
  return { below: [list, found], show, inUse: () => denied.size > 0 || [...open.values()].some((one) => one.inUse()) };
})();
