"use strict";
// Photos on their way to the season: one after another, since a phone's network is the narrow part, and each that has
// arrived is measured already.
Shelf.photos = (() => {
  const { Gone, ask, button, iso, make, t } = Shelf;
  const most = 200;  // MB, as the computer takes
  const notes = make("ul", { className: "notes" });
  const again = make("div", {});
  let waiting = [], sent = 0, all = 0, running = false, hadIt = [], hadLine = null;
  let changed = () => {};

  const refused = (file) => {
    if (file.size > most * 2 ** 20)
      return t("{file} has {size} MB; a photo may have {most} MB. Send a smaller copy.", { file: file.name, size: Math.ceil(file.size / 2 ** 20), most });
    if (file.size === 0) return t("{file} is empty. Take or choose it again.", { file: file.name });
    if (file.type.startsWith("video/")) return t("{file} is a film. Send a photo.", { file: file.name });
    return "";
  };
  const note = (words) => notes.appendChild(make("li", {}, words));
  const hadNote = (name, as) => {
    hadIt.push(name);
    const some = { count: hadIt.length, file: name, as, names: hadIt.slice(0, 3).join(", ") };
    const words = hadIt.length > 3 ? t("{count} photos were here already: {names} and others.", some)
      : hadIt.length > 1 ? t("{count} photos were here already: {names}.", some)
      : as === name ? t("{file} was here already.", some) : t("{file} was here already, as {as}.", some);
    if (hadLine === null) hadLine = note(words);
    else hadLine.textContent = words;
  };

  const run = async () => {
    if (running) return;
    running = true;
    again.replaceChildren();
    while (waiting.length > 0) {
      changed();
      const file = waiting[0];
      try {
        const query = new URLSearchParams({ name: file.name, day: iso(new Date(file.lastModified)) });
        const said = await ask("PUT", `photos?${query}`, file, file.type || "application/octet-stream");
        if (said.had_it) hadNote(file.name, said.photo);
      } catch (error) {
        if (error instanceof Gone) {
          const count = waiting.length;
          again.replaceChildren(
            make("p", { className: "wrong", role: "alert" }, `${count === 1 ? t("A photo is not sent yet.") : t("{count} photos are not sent yet.", { count })} ${error.message}`),
            button(t("Send again"), run));
          break;
        }
        note(error.message.includes(file.name) ? error.message : `${file.name}: ${error.message}`);
      }
      waiting.shift();
      ++sent;
    }
    running = false;
    if (waiting.length === 0) sent = all = 0;
    changed();
  };
  const add = (files) => {
    if (waiting.length === 0) {
      notes.replaceChildren();
      [hadIt, hadLine] = [[], null];
    }
    for (const file of files) {
      const why = refused(file);
      if (why) note(why);
      else waiting.push(file), ++all;
    }
    run();
  };
  const chooser = (words, className, capture) => {
    const input = make("input", { type: "file", accept: "image/*,.heic,.heif,.hif", multiple: !capture });
    if (capture) input.setAttribute("capture", "environment");
    input.addEventListener("change", () => {
      add([...input.files]);
      input.value = "";
    });
    return make("label", { className: `send ${className}` }, words, input);
  };

  if (Shelf.isSeason) {
    let over = 0;
    const isFiles = (event) => event.dataTransfer?.types.includes("Files");
    const show = (count) => document.body.classList.toggle("over", (over = count) > 0);
    addEventListener("dragenter", (event) => isFiles(event) && show(over + 1));
    addEventListener("dragleave", (event) => isFiles(event) && show(over - 1));
    addEventListener("dragover", (event) => isFiles(event) && event.preventDefault());
    addEventListener("drop", (event) => {
      if (!isFiles(event)) return;
      event.preventDefault();
      show(0);
      add([...event.dataTransfer.files]);
    });
    addEventListener("beforeunload", (event) => waiting.length > 0 && event.preventDefault());
  }
  return {
    controls: [chooser(t("Take a photo"), "take", true), chooser(t("Add photos"), "add", false), make("span", { className: "soft drop-hint" }, t("or drop them on the page"))],
    below: [again, notes],
    /// Words and how far, while there is something to send.
    progress: () => (running ? { words: t("Sending photo {n} of {all}.", { n: sent + 1, all }), value: sent, max: all } : null),
    // What was said of a photo that did not come in is not taken away by a reload.
    inUse: () => waiting.length > 0 || notes.childElementCount > 0,
    onChange: (call) => (changed = call),
  };
})();
