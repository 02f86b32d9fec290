"use strict";
// What is not saved is not left without a word.
/// @param left  words: what is not saved, "" for nothing; heading: of its photo; save(then); stay().
const guardUnsaved = (left) => {
  const dialog = byId("leave");
  let onward = null;
  const choice = (id, press) =>
    byId(id).addEventListener("click", () => {
      dialog.close();
      press();
    });
  dialog.addEventListener("cancel", left.stay);
  choice("leave-stay", left.stay);
  choice("leave-drop", () => onward());
  choice("leave-save", () => left.save(onward));
  addEventListener("beforeunload", (event) => {
    if (left.words() === "") return;
    event.preventDefault();
    event.returnValue = true;  // browsers of before 2024 ask for that
  });
  /// Goes on at once, or once it is saved or thrown away.
  return (then) => {
    if (left.words() === "") return then();
    onward = then;
    byId("leave-words").textContent = t("Not saved yet, on the photo of {date}: {what}.", { date: left.heading(), what: left.words() });
    if (!dialog.open) dialog.showModal();
  };
};
