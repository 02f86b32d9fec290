"use strict";
// What was saved on a photo earlier is taken back: the last correction, or all of them. It is asked first.
(() => {
  if (typeof viewer === "undefined" || viewer === null) return;
  const { button, make, send, t } = Shelf;
  const words = make("p", { id: "take-back-words" });
  const told = make("p", { className: "wrong", role: "alert" });
  let photo = null, does = () => {};
  const sure = make("dialog", {}, words, make("div", { className: "tools" },
    button(t("Take it back"), () => { sure.close(); does(); }, { className: "main" }), button(t("Keep it"), () => sure.close())));
  sure.setAttribute("aria-labelledby", "take-back-words");

  const ask = async (what) => {
    const one = photo, place = { photo: one.name, tub: one.tub };
    told.textContent = "";
    does = async () => {
      try {
        const { drawn, file, round } = await send("correction/undo", { ...place, what });
        document.dispatchEvent(new CustomEvent("taken-back", { detail: { photo: one, drawn, file, round } }));
        Shelf.look();
      } catch (error) {
        told.textContent = error.message;
      }
    };
    try {
      const saved = await send("correction/asked", place);
      words.textContent = what === "last"
        ? t("Saved last on the photo of {date}: {what}. Take that back?", { date: one.heading, what: sketch.wordsOf(saved.last) })
        : t("Saved on the photo of {date}: {what}. Take all of it back, and start again from the picture?", { date: one.heading, what: sketch.wordsOf(saved.all) });
      sure.showModal();
    } catch (error) {
      told.textContent = error.message;
    }
  };
  const row = make("div", { className: "tools", hidden: true },
    button(t("Take back what was saved last"), () => ask("last")), button(t("Start again from the picture"), () => ask("all")));
  byId("earlier-drawn").after(row, told, sure);
  document.addEventListener("earlier", ({ detail }) => {
    photo = detail;
    row.hidden = !photo.drawn;
    told.textContent = "";
  });
})();
