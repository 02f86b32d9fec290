"use strict";
// Which tub a photo shows: one way to say it, whatever told it before, and to take back what was said.
Shelf.whichTub = (() => {
  const { button, make, send, t, url } = Shelf;
  const few = 12;  // tubs to choose from by a touch
  const noTub = "no-tub";  // as the computer calls it
  const opened = new Set();

  /// A box that asks. @param one  photo; likely: [{tub, picture}]; not: a tub that it does not show; close: where it
  /// may be closed without an answer.
  const box = (one, tubs, done) => {
    const said = make("p", { className: "wrong", role: "alert" });
    const answer = async (tub) => {
      if (!tub) return void (said.textContent = t("Type the tub's name first, as T01."));
      try {
        await send("tub", { photo: one.photo, tub });
        opened.delete(element);
        element.remove();
        done();
        Shelf.look();
      } catch (error) {
        said.textContent = error.message;
      }
    };
    const likely = (one.likely ?? []).map(({ tub, picture }) => {
      const choice = button(tub, () => answer(tub));
      if (picture) choice.prepend(make("img", { src: url(picture), alt: "" }));
      return choice;
    });
    const others = tubs.filter((tub) => tub !== one.not && !(one.likely ?? []).some((l) => l.tub === tub));
    let choice = others.map((tub) => button(tub, () => answer(tub)));
    if (others.length > few) {
      const select = make("select", {}, ...others.map((tub) => make("option", {}, tub)));
      choice = [make("label", {}, t("Tub"), " ", select), button(t("This one"), () => answer(select.value))];
    }
    const fresh = make("input", { type: "text", autocomplete: "off", size: 8, maxLength: 40 });
    fresh.addEventListener("keydown", (event) => event.key === "Enter" && answer(fresh.value.trim()));
    const element = make("section", { className: "question", ariaLabel: t("Which tub is on {photo}?", one) },
      make("img", { src: url(`sent?${new URLSearchParams({ photo: one.photo })}`), alt: t("The photo that is asked about") }),
      make("div", {},
        make("h3", { tabIndex: -1 }, t("Which tub is this?")),
        make("p", { className: "soft" }, one.photo),
        ...(likely.length ? [make("p", {}, t("Perhaps:")), make("div", { className: "row likely" }, ...likely)] : []),
        ...(choice.length ? [make("p", {}, likely.length ? t("Or:") : t("It is:")), make("div", { className: "row" }, ...choice)] : []),
        make("p", {}, choice.length || likely.length ? t("Or a tub that has no photo yet:") : t("Give the tub a name:")),
        make("div", { className: "row" }, make("label", {}, t("Name"), " ", fresh), button(t("It is new"), () => answer(fresh.value.trim()))),
        make("p", {}, t("Or:")),
        make("div", { className: "row" }, button(t("No tub of this season"), () => answer(noTub)),
          ...(one.close ? [button(t("Close"), () => { opened.delete(element); element.remove(); one.close(); })] : [])),
        said));
    element.inUse = () => fresh.value.trim() !== "" || element.contains(document.activeElement);
    return element;
  };

  // ---- What was said lately, to be taken back
  const lines = make("ul", { className: "said-tubs" });
  const told = make("p", { className: "wrong", role: "alert" });
  const list = make("div", { hidden: true }, lines, told);
  let now = "";
  /// @param tub  of this page alone; undefined: all.
  const show = (state, tub) => {
    const changes = state.named.filter((one) => tub === undefined || one.tub === tub || one.tub_before === tub);
    const says = JSON.stringify(changes);
    if (says === now) return;
    now = says;
    list.hidden = changes.length === 0;
    lines.replaceChildren(...changes.map((one) => {
      const words = one.tub === noTub ? t("{photo} shows no tub of this season, as you said.", one) : t("{photo} shows {tub}, as you said.", one);
      return make("li", {}, words, " ", button(t("Undo"), async (press) => {
        press.target.disabled = true;
        told.textContent = "";
        try {
          await send("tub/undo", { photo: one.photo });
        } catch (error) {
          told.textContent = error.message;
        }
        document.querySelector("#shelf [role=status]")?.focus();
        Shelf.look();
      }, { ariaLabel: t("Undo: {what}", { what: words }) }));
    }));
  };

  /// On a cutting's page: of the photo that is looked at.
  const ofPage = () => {
    if (typeof viewer === "undefined" || viewer === null) return;
    const place = make("div", {});
    let state = null;
    const opener = button(t("This is another tub"), async () => {
      const { name, tub } = viewer.photo();
      opener.disabled = true;
      try {
        await send("tub/asked", { photo: name });
        const back = () => {
          opener.disabled = false;
          opener.focus();
        };
        const asks = box({ photo: name, not: tub, close: back }, state.tubs, () => {
          opener.disabled = false;
          document.querySelector("#shelf [role=status]")?.focus();
        });
        opened.add(asks);
        place.replaceChildren(asks);
        asks.querySelector("h3").focus();
      } catch (error) {
        place.replaceChildren(make("p", { className: "wrong", role: "alert" }, error.message));
        opener.disabled = false;
      }
    }, { disabled: true });
    document.getElementById("strip").after(make("div", { className: "which-tub" }, opener, place, list));
    document.addEventListener("looked", ({ detail }) => {
      if (state === null) opener.disabled = false;
      state = detail;
      show(state, viewer.photo().tub);
    });
  };
  ofPage();
  return { box, list, show, inUse: () => opened.size > 0 };
})();
