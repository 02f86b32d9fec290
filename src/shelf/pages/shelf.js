"use strict";
// What can be done on a page that `slipglass shelf` serves: send photos, say which tub one shows, write down
// what was done. A page opened as a file has none of this, and needs none.
const shelf = (() => {
  const base = new URL(".", document.currentScript.src);
  const url = (path) => new URL(path, base);
  const make = (tag, attributes = {}, ...inside) => {
    const element = Object.assign(document.createElement(tag), attributes);
    element.append(...inside);
    return element;
  };
  const ask = async (method, path, body, type = "application/json") => {
    let answer;
    try {
      answer = await fetch(url(path), { method, body, headers: { "Content-Type": type } });
    } catch {
      throw new Error("The computer with the season does not answer. Is slipglass shelf still running?");
    }
    const said = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Error(said.error ?? `Not possible (${answer.status}). Open the address again that slipglass shelf shows.`);
    return said;
  };
  const send = (path, value) => ask("POST", path, JSON.stringify(value));
  const day = (date) => `${date.getFullYear()}-${String(date.getMonth() + 1).padStart(2, "0")}-${String(date.getDate()).padStart(2, "0")}`;
  const main = document.querySelector("main");

  // Nothing is reloaded from under somebody's fingers.
  const inUse = () => {
    const easel = document.getElementById("easel-box");
    const typing = document.activeElement?.matches?.("input:not([type=file]), select, textarea") ?? false;
    return sending > 0 || typing || (easel !== null && !easel.hidden);
  };

  // ---- Photos
  const status = make("p", { role: "status" });
  const wrong = make("ul", { className: "wrong" });
  const bar = make("progress", { hidden: true });
  bar.setAttribute("aria-label", "How far it is");
  const questions = make("div");
  const found = make("ul", { className: "found" });
  let sending = 0, sent = 0, all = 0;

  const sendPhotos = async (files) => {
    wrong.replaceChildren();
    all += files.length;
    sending += files.length;
    showProgress();
    // One after another: a phone's network is the narrow part, and each that has arrived is measured already.
    for (const file of files) {
      try {
        const query = new URLSearchParams({ name: file.name, day: day(new Date(file.lastModified)) });
        const said = await ask("PUT", `photos?${query}`, file, file.type || "application/octet-stream");
        if (said.had_it) wrong.append(make("li", {}, `${file.name} was here already, as ${said.photo}.`));
      } catch (error) {
        wrong.append(make("li", {}, error.message.includes(file.name) ? error.message : `${file.name}: ${error.message}`));
      }
      ++sent;
      --sending;
      showProgress();
    }
    if (sending === 0) sent = all = 0;
    look();
  };
  const chooser = (words, className, capture) => {
    const input = make("input", { type: "file", accept: "image/*,.heic,.heif", multiple: !capture });
    if (capture) input.setAttribute("capture", "environment");
    input.addEventListener("change", () => {
      sendPhotos([...input.files]);
      input.value = "";
    });
    return make("label", { className: `send ${className}` }, words, input);
  };

  let state = null;
  const minutes = (seconds) => seconds < 90 ? "about a minute left" : `about ${Math.round(seconds / 60)} minutes left`;
  function showProgress() {
    let words = "", value = null, max = 1;
    if (sending > 0) {
      words = `Sending photo ${sent + 1} of ${all}.`;
      [value, max] = [sent, all];
    } else if (state?.busy && state.of > 0) {
      words = `${state.teach.busy ? "Learning from" : "Measuring"}: ${state.done} of ${state.of} photos${state.seconds_left === null ? "" : ", " + minutes(state.seconds_left)}.`;
      [value, max] = [state.done, state.of];
    } else if (state?.busy) {
      words = "Looking at what is new.";
    } else if (state?.failure) {
      words = state.failure;
    }
    if (status.textContent !== words) status.textContent = words;
    bar.hidden = value === null;
    if (value !== null) [bar.value, bar.max] = [value, max];
  }

  // ---- Which tub is this?
  const asked = (one) => {
    const said = make("p", { className: "wrong", role: "alert" });
    const answer = async (tub) => {
      if (!tub) return void (said.textContent = "Type the tub's name first, as T01.");
      try {
        await send("tub", { photo: one.photo, tub });
        box.remove();
        look();
      } catch (error) {
        said.textContent = error.message;
      }
    };
    const choice = (tub, picture) => {
      const button = make("button", { type: "button" });
      if (picture) button.append(make("img", { src: url(picture), alt: "" }));
      button.append(tub);
      button.addEventListener("click", () => answer(tub));
      return button;
    };
    const likely = one.likely.map((tub) => choice(tub.tub, tub.picture));
    const others = state.tubs.filter((tub) => !one.likely.some((l) => l.tub === tub));
    const other = make("select", { ariaLabel: "Another tub of the season" }, make("option", { value: "" }, "another tub of the season"), ...others.map((tub) => make("option", {}, tub)));
    other.addEventListener("change", () => other.value && answer(other.value));
    const fresh = make("input", { type: "text", ariaLabel: "Name of a new tub", placeholder: "new tub, as T07", autocomplete: "off" });
    const take = make("button", { type: "button" }, "It is new");
    take.addEventListener("click", () => answer(fresh.value.trim()));
    const box = make("div", { className: "question" },
      make("img", { src: url(`sent?${new URLSearchParams({ photo: one.photo })}`), alt: `The photo ${one.photo}` }),
      make("div", {},
        make("h3", {}, "Which tub is this?"),
        make("p", {}, `${one.photo}: its name does not tell, no label can be read, and its wall is none that is clearly known.`),
        make("div", { className: "likely" }, ...likely),
        make("div", { className: "row" }, ...(others.length ? [other] : []), fresh, take),
        said));
    return box;
  };
  let shown = "";
  const showQuestions = () => {
    const own = state.asked.filter((one) => one.own);
    const now = JSON.stringify([own, state.tubs, state.by_grains]);
    if (now === shown || questions.contains(document.activeElement)) return;
    shown = now;
    questions.replaceChildren(...own.map(asked));
    found.replaceChildren(...state.by_grains.map((one) => make("li", {}, `${one.photo} is ${one.tub}, known by its grains.`)));
  };

  // ---- A phone
  const invitation = make("div", { className: "invite" });
  const invite = make("button", { type: "button", hidden: true }, "Let a phone in");
  invite.addEventListener("click", async () => {
    try {
      const said = await send("invitation", {});
      const code = new DOMParser().parseFromString(said.svg, "image/svg+xml").documentElement;
      code.setAttribute("role", "img");
      code.setAttribute("aria-label", "The address as a QR code");
      invitation.replaceChildren(
        make("p", {}, "Point the phone's camera at this. It lets in one phone in this network, once, within ten minutes."),
        document.importNode(code, true),
        make("p", {}, make("code", {}, said.address)));
    } catch (error) {
      invitation.replaceChildren(make("p", { className: "wrong" }, error.message));
    }
  });

  // ---- What was done
  const doneBy = {
    "waterlogged": ["tipped-out", "Tipped out"], "standing-water": ["tipped-out", "Tipped out"],
    "drying": ["watered", "Watered"], "green-wall": ["moved", "Moved"], "ready-to-pot": ["potted-up", "Potted up"],
  };
  const words = { "tipped-out": "tipped out", "watered": "watered", "moved": "moved", "potted-up": "potted up", "given-up": "given up", "noted": "a note" };
  const eventWords = (event) => `${event.date}: ${words[event.what] ?? event.what}${event.amount_ml ? `, ${event.amount_ml} ml` : ""}${event.note ? `, ${event.note}` : ""}`;
  const diary = (tub, flags) => {
    const list = make("ul"), said = make("p", { className: "wrong", role: "alert" });
    const write = async (event) => {
      said.textContent = "";
      try {
        const written = await send("care", { tub, ...event });
        const back = make("button", { type: "button" }, "Undo");
        const line = make("li", {}, `Written down: ${eventWords(written)}. `, back);
        back.addEventListener("click", async () => {
          try {
            await send("care/undo", written);
            line.remove();
            look();
          } catch (error) {
            said.textContent = error.message;
          }
        });
        list.append(line);
        look();
        return true;
      } catch (error) {
        said.textContent = error.message;
        return false;
      }
    };
    const quick = [...new Map(flags.map((flag) => doneBy[flag]).filter(Boolean))].map(([what, label]) => {
      const button = make("button", { type: "button" }, `Done: ${label.toLowerCase()}`);
      button.addEventListener("click", () => write({ what }));
      return button;
    });
    const what = make("select", {}, ...["watered", "tipped-out", "moved", "potted-up", "given-up", "noted"].map((one) => make("option", { value: one }, words[one])));
    const amount = make("input", { type: "number", min: 1, max: 100000, inputMode: "numeric" });
    const note = make("input", { type: "text", maxLength: 300, autocomplete: "off" });
    const form = make("form", {}, make("label", {}, "What", what), make("label", {}, "ml", amount), make("label", {}, "Note", note), make("button", {}, "Write it down"));
    form.addEventListener("submit", async (event) => {
      event.preventDefault();
      const row = { what: what.value, amount_ml: amount.value, note: note.value.trim() };
      if (row.what === "noted") row.what = "";
      if (await write(row)) form.reset();
      document.activeElement?.blur?.();
    });
    const more = make("details", {}, make("summary", {}, "Write down what you did"), form);
    return make("div", { className: "diary" }, make("div", { className: "row" }, ...quick), more, said, list);
  };

  // ---- On each page
  const season = document.getElementById("doing") !== null || document.getElementById("no-photo-yet") !== null;
  if (document.getElementById("heads") !== null) return null;
  const section = make("section", { id: "shelf", ariaLabel: "Photos and phones" },
    make("div", { className: "row" }, chooser("Take a photo", "take", true), chooser("Add photos", "", false), invite, make("a", { href: url("plan").href }, "Plan and labels")),
    status, bar, wrong, questions, found, invitation);
  if (!season) section.replaceChildren(status, bar, wrong);
  main.prepend(section);
  document.querySelectorAll("[data-done-tub]").forEach((card) => {
    const flags = [...card.querySelectorAll("[data-flag]")].map((need) => need.dataset.flag);
    card.append(diary(card.dataset.doneTub, flags));
  });
  if (season) {
    let over = 0;
    const isFiles = (event) => event.dataTransfer?.types.includes("Files");
    addEventListener("dragenter", (event) => isFiles(event) && document.body.classList.toggle("over", ++over > 0));
    addEventListener("dragleave", (event) => isFiles(event) && document.body.classList.toggle("over", --over > 0));
    addEventListener("dragover", (event) => isFiles(event) && event.preventDefault());
    addEventListener("drop", (event) => {
      if (!isFiles(event)) return;
      event.preventDefault();
      document.body.classList.toggle("over", (over = 0) > 0);
      sendPhotos([...event.dataTransfer.files]);
    });
    addEventListener("beforeunload", (event) => sending > 0 && event.preventDefault());
  }

  // ---- What the computer is doing
  let round = null, timer = 0;
  async function look() {
    clearTimeout(timer);
    try {
      state = await ask("GET", "state");
      round ??= state.round;
      invite.hidden = !state.may_invite;
      if (season) showQuestions();
      showProgress();
      document.dispatchEvent(new CustomEvent("looked", { detail: state }));
      // While more is coming the pages are as old as before.
      if (state.round !== round && !state.busy && !inUse()) return void location.reload();
    } catch (error) {
      status.textContent = error.message;
    }
    timer = setTimeout(look, state?.busy || sending ? 1000 : 4000);
  }
  look();
  return { make, send, look, url };
})();
