"use strict";
// The sheet that is drawn on: seen from nearer or further, and what fingers do on it. One finger, a pen or a mouse
// is the hand's; two fingers shift the sheet and bring it nearer.
const easel = (() => {
  if (viewer === null) return null;
  const box = byId("easel"), sheet = byId("sheet"), ink = byId("ink");
  const most = 6;
  let zoom = 1;
  let hand = null;  // begin, move, end, takeBack, shifts, zoomed

  /// @param from  the place on the screen that stays under the fingers; they are at `to` now.
  const zoomTo = (next, from, to = from) => {
    const was = sheet.getBoundingClientRect();
    zoom = Math.min(Math.max(next, 1), most);
    // At first the whole photo is in sight.
    const [w, h] = hand.size();
    sheet.style.width = `${Math.min(box.clientWidth, (0.75 * innerHeight * w) / h) * zoom}px`;
    const now = sheet.getBoundingClientRect();
    if (was.width > 0)
      box.scrollBy(now.left + ((from.x - was.left) / was.width) * now.width - to.x,
                   now.top + ((from.y - was.top) / was.height) * now.height - to.y);
    byId("further").disabled = zoom === 1;
    byId("closer").disabled = zoom === most;
    hand.zoomed();
  };
  const middle = () => {
    const seen = box.getBoundingClientRect();
    return { x: seen.left + seen.width / 2, y: seen.top + seen.height / 2 };
  };
  const shift = (x, y) => {
    const before = box.scrollTop;
    box.scrollBy(-x, -y);
    window.scrollBy(0, before - box.scrollTop - y);  // at its edge the page goes on
  };

  const fingers = new Map();  // where each is on the screen
  let held = null;            // what the drawing finger, pen or mouse began
  let pinched = false;        // until all fingers are up
  const pair = () => {
    const [a, b] = [...fingers.values()];
    return { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2, apart: Math.max(1, Math.hypot(a.x - b.x, a.y - b.y)) };
  };
  // A second finger seldom comes down with the first: what was drawn until then was no stroke. Guess: half a second, or a
  // finger's width.
  const justBegun = () => performance.now() - held.since < 500 || held.far < 16;

  ink.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    event.preventDefault();
    const at = { x: event.clientX, y: event.clientY };
    const finger = event.pointerType === "touch";
    // The hand that leans on the glass beside a pen draws nothing, whichever comes first.
    if (held?.type === "touch" && event.pointerType === "pen") {
      if (!held.shifts) hand.takeBack();
      held = null;
      fingers.clear();
    }
    if (held && (!finger || held.type !== "touch")) return;
    ink.setPointerCapture(event.pointerId);
    if (finger) {
      fingers.set(event.pointerId, at);
      if (fingers.size > 1) {
        if (held && !held.shifts) justBegun() ? hand.takeBack() : hand.end();
        held = null;
        pinched = true;
      }
      if (pinched) return;
    }
    held = { pointer: event.pointerId, type: event.pointerType, since: performance.now(), from: at, at, far: 0, shifts: hand.shifts() };
    if (!held.shifts && !hand.begin(event)) held = null;
  });
  ink.addEventListener("pointermove", (event) => {
    const at = { x: event.clientX, y: event.clientY };
    if (fingers.has(event.pointerId)) {
      if (fingers.size > 1) {
        const before = pair();
        fingers.set(event.pointerId, at);
        const now = pair();
        return zoomTo((zoom * now.apart) / before.apart, before, now);
      }
      fingers.set(event.pointerId, at);
    }
    if (event.pointerId !== held?.pointer) return;
    held.far = Math.max(held.far, Math.hypot(at.x - held.from.x, at.y - held.from.y));
    if (held.shifts) shift(at.x - held.at.x, at.y - held.at.y);
    else hand.move(event);
    held.at = at;
  });
  const release = (event) => {
    fingers.delete(event.pointerId);
    if (fingers.size === 0) pinched = false;
    if (event.pointerId !== held?.pointer) return;
    if (!held.shifts) hand.end();
    held = null;
  };
  ink.addEventListener("pointerup", release);
  ink.addEventListener("pointercancel", release);
  box.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    const lines = event.deltaMode === 0 ? 1 : 30;
    zoomTo(zoom * Math.exp(-event.deltaY * lines * 0.003), { x: event.clientX, y: event.clientY });
  }, { passive: false });
  byId("closer").addEventListener("click", () => zoomTo(zoom * 1.5, middle()));
  byId("further").addEventListener("click", () => zoomTo(zoom / 1.5, middle()));

  return {
    heldBy: (one) => (hand = one),
    whole: () => zoomTo(1, middle()),
    fit: () => zoomTo(zoom, middle()),  // when the window is another
  };
})();
