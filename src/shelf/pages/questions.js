"use strict";
// Which tub is this? Asked of photos that nothing tells the tub of; a tub known by its grains can be denied, and a photo
// that was said to show none can be given one.
Shelf.questions = (() => {
  const { button, make, t, whichTub } = Shelf;
  const list = make("div", {});
  const found = make("div", {}), none = make("div", {});
  const open = new Map();  // photo -> its box
  const denied = new Map();
  const answered = new Set();  // until the computer has seen to it
  let foundNow = "", noneNow = "";

  const box = (one, tubs) => whichTub.box(one, tubs, () => {
    denied.delete(one.photo);
    answered.add(one.photo);
    open.delete(one.photo);
    (list.querySelector("h3") ?? document.querySelector("#shelf [role=status]"))?.focus();
  });
  const askAbout = (photo, state, not) => {
    const close = () => {
      denied.delete(photo);
      open.delete(photo);
      document.querySelector("#shelf [role=status]").focus();
    };
    denied.set(photo, { photo, likely: [], own: true, not, close });
    show(state);
    open.get(photo).querySelector("h3").focus();
  };
  /// Lines of photos; many of them to be opened.
  const linesIn = (place, lines, many) => {
    const all = make("ul", { className: "found" }, ...lines);
    if (lines.length > 3) place.replaceChildren(make("details", {}, make("summary", {}, many), all));
    else place.replaceChildren(...(lines.length ? [all] : []));
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
    whichTub.show(state);
    const grains = JSON.stringify(state.by_grains);
    if (grains !== foundNow && !found.contains(document.activeElement)) {
      foundNow = grains;
      linesIn(found, state.by_grains.map((one) => make("li", {}, t("{photo} is {tub}, known by the grains of its wall.", one), " ",
        button(t("Not so"), () => askAbout(one.photo, state, one.tub), { ariaLabel: t("Not so: {photo} is not {tub}", one) }))),
      t("{count} photos known by the grains of their wall", { count: state.by_grains.length }));
    }
    // Those said just now stand above, with "Undo".
    const apart = state.set_aside.filter((photo) => !state.named.some((one) => one.photo === photo));
    if (JSON.stringify(apart) !== noneNow && !none.contains(document.activeElement)) {
      noneNow = JSON.stringify(apart);
      linesIn(none, apart.map((photo) => make("li", {}, t("{photo} shows no tub of this season, as its name says.", { photo }), " ",
        button(t("It does"), () => askAbout(photo, state), { ariaLabel: t("It does: {photo} shows a tub of this season", { photo }) }))),
      t("{count} photos show no tub of this season, as their names say", { count: apart.length }));
    }
  };
  return { below: [list, found, whichTub.list, none], show, inUse: () => denied.size > 0 || [...open.values()].some((one) => one.inUse()) };
})();
