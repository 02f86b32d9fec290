"use strict";
// Corrections on a page that is served: what is drawn is kept and measured at once, and the season can be taught by it.
(() => {
  if (typeof viewer === "undefined" || viewer === null) return;
  const { make, send, t } = Shelf;
  const came = make("div", { id: "came", role: "status" });
  const teaching = make("div", { id: "teaching" });
  byId("easel-box").after(came);
  byId("touch-up").append(teaching);
  const say = (...lines) => came.replaceChildren(...lines.map((line) => make("p", {}, line)));

  // ---- Kept, measured again, and what came of it
  let state = null;
  let waiting = [];  // kept, but not measured yet
  const compared = (before, now) => Object.keys(now).map((what) =>
    before[what] === now[what] ? t("{what} {now}, as before", { what, now: now[what] }) : t("{what} {before} before, {now} now", { what, before: before[what], now: now[what] }));
  document.addEventListener("correction", (event) => {
    event.preventDefault();
    const { correction, photo, kept, failed } = event.detail;
    const before = photo.figures;
    send("correction", correction).then(
      ({ file, round }) => {
        waiting.push({ name: photo.name, tub: photo.tub, heading: photo.heading, file, round, before });
        say(t("Kept, as {file}. The photo of {date} is measured again with it; you can go on meanwhile.", { file, date: photo.heading }));
        kept();
        came.scrollIntoView({ block: "nearest" });
        Shelf.look();
      },
      (error) => failed(t("Not saved: {why}", { why: error.message })));
  });
  document.addEventListener("taken-back", ({ detail: { photo, file, round } }) => {
    waiting.push({ name: photo.name, tub: photo.tub, heading: photo.heading, file, round, before: photo.figures });
    say(t("Taken back. The photo of {date} is measured again without it; you can go on meanwhile.", { date: photo.heading }));
  });
  /// The page's data as they are now.
  const dataNow = async () => {
    const answer = await fetch(location.pathname);
    if (!answer.ok) throw new Error(t("The page cannot be loaded again."));
    return JSON.parse(new DOMParser().parseFromString(await answer.text(), "text/html").getElementById("data").textContent);
  };
  let loading = false;
  const showMeasured = async () => {
    loading = true;
    const { round } = state;
    const { photos } = await dataNow().finally(() => (loading = false));
    const done = waiting.filter((one) => one.round !== round);
    waiting = waiting.filter((one) => one.round === round);
    const lines = [];
    for (const [nth, first] of done.entries()) {
      const same = (other) => other.name === first.name && other.tub === first.tub;
      if (done.findIndex(same) < nth) continue;  // told already
      const now = photos.find(same);
      const files = done.filter(same).map((one) => `/${one.file}`);
      lines.push(now ? t("Measured again, the photo of {date}: {figures}.", { date: now.heading, figures: compared(first.before, now.figures).join("; ") })
        : t("The photo of {date} is measured again, and shows nothing that can be measured.", { date: first.heading }));
      for (const problem of state.problems)
        if (problem.file === first.name || files.some((file) => problem.file.endsWith(file)))
          lines.push(`${problem.file}: ${problem.reason}. ${problem.remedy}.`);
      if (now) document.dispatchEvent(new CustomEvent("measured", { detail: { now, address: `${now.found}?${round}` } }));
    }
    say(...lines);
  };

  // ---- Teach
  const button = (words, what) => {
    const one = Shelf.button(words, async () => {
      one.disabled = true;
      try {
        await send("teach", { what });
        Shelf.look();
      } catch (error) {
        teaching.append(make("p", { className: "wrong", role: "alert" }, error.message));
        one.disabled = false;
      }
    });
    return one;
  };
  let shown = "";
  const showTeaching = () => {
    const { photos, taught, busy, says } = state.teach;
    const now = JSON.stringify(state.teach);
    if (now === shown) return;
    shown = now;
    const may = photos >= 2 && !busy;
    const lines = [];
    if (photos >= 2 || taught || says) lines.push(make("h3", {}, t("Teach")));
    if (photos >= 2)
      lines.push(make("p", {}, t("Strokes on {photos} photos are kept. slipglass can try to learn from them for the whole season. It keeps what it learns only if it then does better on photos that were left out of the lesson; in ordinary light that is seldom.", { photos })));
    if (busy) lines.push(make("p", {}, t("Learning: the photos that you drew on are looked at, and up to twelve others.")));
    else if (says) lines.push(make("p", { className: "says" }, says));
    const row = make("div", { className: "row" });
    if (may) row.append(button(t("Teach from what was drawn"), "teach"));
    if (taught && !busy) row.append(button(t("Undo the teaching"), "forget"));
    teaching.replaceChildren(...lines, row);
  };

  // ---- When all is measured the page is loaded again, and says still what came of it.
  const place = `corrections ${location.pathname}`;
  addEventListener("pagehide", () =>
    sessionStorage.setItem(place, JSON.stringify({ waiting, said: [...came.children].map((line) => line.textContent) })));
  const left = JSON.parse(sessionStorage.getItem(place) ?? "null");
  if (left && performance.getEntriesByType("navigation")[0]?.type === "reload") {
    waiting = left.waiting;
    say(...left.said);
  }

  document.addEventListener("looked", ({ detail }) => {
    state = detail;
    showTeaching();
    if (state.busy || loading || waiting.length === 0 || waiting.some((one) => one.round === state.round)) return;
    if (state.failure) {
      waiting = [];
      say(t("What you drew is kept, but could not be measured: {why}", { why: state.failure }));
    } else {
      showMeasured().catch((error) => say(error.message));
    }
  });
})();
