"use strict";
// What was done: a tick for what a tub asks for, a form for anything else, and what was written down, to be taken back.
Shelf.diary = (() => {
  const { button, make, send, t } = Shelf;
  const doneBy = {
    "waterlogged": "tipped-out", "standing-water": "tipped-out", "drying": "watered", "green-wall": "moved", "ready-to-pot": "potted-up",
  };
  const words = {
    "watered": t("watered"), "tipped-out": t("tipped out"), "moved": t("moved"), "potted-up": t("potted up"), "given-up": t("given up"),
    "weighed": t("weighed"), "noted": t("a note"),
  };
  const ofOne = ["potted-up", "given-up", "noted"];  // can be of one cutting of a shared tub; water is of all of them
  const every = t("every tub");
  const lists = [], forms = [];  // each: {tub, show}
  let state = null;
  const said = make("p", { className: "wrong", role: "alert" });

  const day = (date) => {
    const ago = Math.round((Date.parse(state.today) - Date.parse(date)) / 864e5);
    return ago === 0 ? t("today") : ago === 1 ? t("yesterday") : date;
  };
  const eventWords = (event) => [
    words[event.what] ?? event.what, event.amount_ml === null ? "" : `${event.amount_ml} ml`, event.weight_g === null ? "" : `${event.weight_g} g`, event.cutting === "" ? "" : t("only {cutting}", event), event.note,
  ].filter(Boolean).join(", ");
  const write = async (event, told) => {
    told.textContent = "";
    try {
      await send("care", event);
      return true;
    } catch (error) {
      told.textContent = error.message;
      return false;
    }
  };
  const carded = new Set();  // tubs that have a list of their own on this page
  /// What was written down lately of a tub; undefined: of all that have no list of their own.
  const written = (tub) => {
    if (tub !== undefined) carded.add(tub);
    const list = make("ul", { className: "written" });
    const told = make("p", { className: "wrong", role: "alert" });
    const place = make("div", { hidden: true }, make("h3", {}, t("Written down")), list, told);
    let now = "";
    lists.push(() => {
      const events = state.written.filter((event) => (tub === undefined ? !carded.has(event.tub) : event.tub === tub));
      if (JSON.stringify(events) === now) return;
      now = JSON.stringify(events);
      place.hidden = events.length === 0;
      list.replaceChildren(...events.map((event) => make("li", {}, `${day(event.date)}${tub === undefined ? `, ${event.tub}` : ""}: ${eventWords(event)} `,
        button(t("Undo"), async (press) => {
          press.target.disabled = true;
          try {
            await send("care/undo", event);
          } catch (error) {
            told.textContent = error.message;
          }
          place.querySelector("h3").tabIndex = -1;
          place.querySelector("h3").focus();
          Shelf.look();
        }, { ariaLabel: t("Undo: {what}", { what: `${event.tub} ${eventWords(event)}` }) }))));
    });
    return place;
  };
  /// Which cutting of a tub that several share. @param tubNow  calls for the tub.
  const about = (tubNow) => {
    const choice = make("select", {});
    const label = make("label", { hidden: true }, t("About"), choice);
    let now = "";
    /// @param may  whether what is done can be of one alone.
    const show = (may) => {
      const cuttings = state?.shared[tubNow()] ?? [];
      label.hidden = !may || cuttings.length === 0;
      if (JSON.stringify(cuttings) === now) return;
      now = JSON.stringify(cuttings);
      choice.replaceChildren(make("option", { value: "" }, t("the whole tub")), ...cuttings.map((one) => make("option", {}, one)));
    };
    return { label, show, value: () => (label.hidden ? "" : choice.value) };
  };
  /// @param tub  undefined: to be chosen.
  const form = (tub, title) => {
    const what = make("select", {}, ...Object.keys(words).map((one) => make("option", { value: one }, words[one])));
    const which = make("select", {});
    const when = make("input", { type: "date" });
    const amount = make("input", { type: "number", min: 1, max: 100000, step: "any", inputMode: "decimal" });
    const weight = make("input", { type: "number", min: 1, max: 100000, step: "any", inputMode: "decimal" });
    const note = make("input", { type: "text", maxLength: 300, autocomplete: "off" });
    const told = make("p", { className: "wrong", role: "alert" });
    const cutting = about(() => tub ?? which.value);
    const amounts = make("label", {}, t("How much, ml"), amount), weights = make("label", {}, t("Weight, g"), weight);
    const fit = () => {
      amounts.hidden = !["watered", "tipped-out"].includes(what.value);
      weights.hidden = !["watered", "weighed"].includes(what.value);
      cutting.show(ofOne.includes(what.value));
    };
    for (const choice of [what, which]) choice.addEventListener("change", fit);
    const keep = make("button", { className: "main" }, t("Write it down"));
    const element = make("form", { hidden: true, className: "care" },
      ...(tub === undefined ? [make("label", {}, t("Tub"), which)] : []),
      make("label", {}, t("What"), what), cutting.label, make("label", {}, t("When"), when), amounts, weights, make("label", { className: "note-field" }, t("Note"), note),
      keep, button(t("Close"), () => { element.reset(); fit(); element.hidden = true; opener.setAttribute("aria-expanded", false); opener.focus(); }), told);
    const opener = button(title, () => {
      element.hidden = !element.hidden;
      opener.setAttribute("aria-expanded", !element.hidden);
      if (!element.hidden) {
        if (!when.value) when.value = state?.today ?? "";
        (tub === undefined ? which : what).focus();
      }
    });
    opener.setAttribute("aria-expanded", false);
    element.addEventListener("submit", async (event) => {
      event.preventDefault();
      keep.disabled = true;
      const row = {
        what: what.value, date: when.value, cutting: cutting.value(), note: note.value.trim(),
        amount_ml: amounts.hidden ? "" : amount.value, weight_g: weights.hidden ? "" : weight.value,
      };
      const tubs = tub !== undefined ? [tub] : which.value === every ? state.tubs : [which.value];
      let all = true;
      for (const one of tubs) all = all && await write({ tub: one, ...row }, told);
      keep.disabled = false;
      if (all) {
        element.reset();
        fit();
        element.hidden = true;
        opener.setAttribute("aria-expanded", false);
        opener.focus();
      }
      Shelf.look();
    });
    fit();
    forms.push({
      inUse: () => !element.hidden,
      show: () => {
        when.max = state.today;
        if (which.children.length !== state.tubs.length + 1 && which !== document.activeElement) {
          const chosen = which.value;
          which.replaceChildren(...[...state.tubs, every].map((one) => make("option", {}, one)));
          if (chosen) which.value = chosen;
        }
        fit();
      },
    });
    return [opener, element];
  };
  /// Below what a tub asks for.
  const ofTub = (tub, flags) => {
    const told = make("p", { className: "wrong", role: "alert" });
    const asked = [...new Set(flags.map((flag) => doneBy[flag]).filter(Boolean))];
    const cutting = about(() => tub);
    if (asked.some((what) => ofOne.includes(what))) forms.push({ inUse: () => cutting.value() !== "", show: () => cutting.show(true) });
    const quick = asked.map((what) =>
      button(t("Done: {what}", { what: words[what] }), async (press) => {
        press.target.disabled = true;
        if (!await write({ tub, what, cutting: ofOne.includes(what) ? cutting.value() : "" }, told)) press.target.disabled = false;
        Shelf.look();
      }, { className: "main" }));
    const [opener, element] = form(tub, quick.length ? t("Something else") : t("Write down what you did"));
    return make("div", { className: "diary" }, make("div", { className: "row" }, cutting.label, ...quick, opener), told, element, written(tub));
  };
  const ofSeason = () => {
    const [opener, element] = form(undefined, t("Write down for any tub"));
    return make("div", { className: "diary" }, opener, element, written());
  };
  const show = (now) => {
    state = now;
    lists.forEach((one) => one());
    forms.forEach((one) => one.show());
  };
  return { ofTub, ofSeason, show, inUse: () => forms.some((one) => one.inUse()) };
})();
