"use strict";
// Drawing on a photo what is right there, and saving it as a correction (docs/files.md, "Corrections").
// All points are px of the full-size upright photo; (0, 0) is the centre of its top left pixel, so the drawing
// is moved by half a px.
(() => {
  if (viewer === null) return;
  const { draw, pointsText, strokesOf, wordsOf, crossed } = sketch;
  const ink = byId("ink");
  const corners = [t("Rim, left"), t("Rim, right"), t("Base, right"), t("Base, left")];
  const hints = {
    "root": t("Draw along a root that was missed."),
    "not root": t("Draw over what was called a root and is none."),
    "outline": t("Drag the four corners: the rim's onto the rim, the base's to where the sides meet the table. A tap moves the nearest corner."),
    "water_line": t("Drag the line onto the top of the water. A tap moves the nearest point."),
    "move": t("Drag the photo. Two fingers do that with any tool."),
  };
  let photo = null;
  let state = null;
  let before = [], after = [];  // states to go back to, and forward again
  let sending = false;

  const tool = () => document.querySelector("input[name=tool]:checked").value;
  const brush = () => photo.brush * Number(document.querySelector("input[name=brush]:checked").value);
  const perPixel = () => photo.px[0] / Math.max(1, ink.getBoundingClientRect().width);
  // Where nothing was found, a place to start dragging from.
  const startOutline = () => {
    if (photo.outline.length === 4) return photo.outline;
    const [w, h] = photo.px;
    return [[0.2 * w, 0.15 * h], [0.8 * w, 0.15 * h], [0.72 * w, 0.85 * h], [0.28 * w, 0.85 * h]];
  };
  const startWater = () => {
    const line = photo.water_line;
    if (line.length >= 3) return [line[0], line[Math.floor(line.length / 2)], line[line.length - 1]];
    const [, , right, left] = state.outline ?? startOutline();
    const up = 0.04 * photo.px[1];
    return [[left[0], left[1] - up], [(left[0] + right[0]) / 2, (left[1] + right[1]) / 2 - up], [right[0], right[1] - up]];
  };
  const handles = () => {
    if (tool() === "outline") return state.outline ?? startOutline();
    if (tool() === "water_line" && !state.dry) return state.water_line ?? startWater();
    return [];
  };

  // What is drawn and not saved.
  const drawing = () => {
    const said = { strokes: state.strokes };
    if (state.outline) said.outline = state.outline;
    if (state.dry) said.water_line = [];
    else if (state.water_line) said.water_line = state.water_line;
    return said;
  };
  const unsaved = () => (state === null ? "" : wordsOf(drawing()));
  const status = () => {
    const parts = unsaved();
    byId("done").textContent = parts ? t("Not saved yet: {what}.", { what: parts }) : photo.drawn ? t("Nothing new drawn yet.") : t("Nothing drawn yet.");
    byId("undo").disabled = sending || before.length === 0;
    byId("redo").disabled = sending || after.length === 0;
    byId("save").disabled = sending;
    byId("dry").checked = state.dry;
    byId("dry").disabled = sending;
  };

  // What was drawn on earlier days lies under it all; where the page is served it can be taken back.
  const paintEarlier = () => {
    const said = photo.drawn ?? {};
    const lines = [];
    if (said.outline) lines.push(draw("polygon", { "class": "edge", "points": pointsText(said.outline) }));
    if (said.water_line?.length) lines.push(draw("polyline", { "class": "level", "points": pointsText(said.water_line) }));
    byId("ink-earlier").replaceChildren(...strokesOf(said.strokes ?? [], 2 * perPixel()), ...lines);
    const words = wordsOf(said);
    byId("earlier-drawn").textContent = t("Drawn and saved earlier, in paler ink: {what}. What you draw over it holds.", { what: words });
    byId("earlier-drawn").hidden = words === "";
    document.dispatchEvent(new CustomEvent("earlier", { detail: photo }));
  };

  const paint = () => {
    const lines = [];
    const outline = tool() === "outline" ? state.outline ?? startOutline() : state.outline;
    if (outline) lines.push(draw("polygon", { "class": "edge", "points": pointsText(outline) }));
    const water = state.dry ? null : tool() === "water_line" ? state.water_line ?? startWater() : state.water_line;
    if (water) lines.push(draw("polyline", { "class": "level", "points": pointsText(water) }));
    const dots = handles().map(([x, y], i) => {
      const dot = draw("circle", {
        "class": "handle", "cx": x + 0.5, "cy": y + 0.5, "r": 14 * perPixel(), "tabindex": 0, "role": "button",
        "aria-label": t("{point}: arrow keys move it", { point: tool() === "outline" ? corners[i] : t("Water line, point {n}", { n: i + 1 }) }),
      });
      dot.addEventListener("keydown", (event) => {
        const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
        if (!step) return;
        event.preventDefault();
        if (sending) return;
        remember();
        const size = event.shiftKey ? 10 : 2;
        moveHandle(i, [x + size * step[0] * perPixel(), y + size * step[1] * perPixel()]);
        ink.querySelectorAll(".handle")[i].focus();
      });
      return dot;
    });
    byId("ink-now").replaceChildren(...strokesOf(state.strokes, perPixel()), ...lines, ...dots);
    ink.classList.toggle("moving", tool() === "move");
    byId("hint").textContent = hints[tool()];
    byId("dry-choice").hidden = tool() !== "water_line";
    byId("brushes").hidden = tool() !== "root" && tool() !== "not root";
    status();
  };

  const remember = () => {
    before.push(JSON.stringify(state));
    after = [];
  };
  const tenth = ([x, y]) => [Math.round(x * 10) / 10, Math.round(y * 10) / 10];
  const moveHandle = (i, to) => {
    const moved = handles().map((point, k) => tenth(k === i ? to : point));
    state[tool()] = moved;
    paint();
  };
  const placeOf = (event) => {
    const box = ink.getBoundingClientRect();
    return [((event.clientX - box.left) / box.width) * photo.px[0] - 0.5,
            ((event.clientY - box.top) / box.height) * photo.px[1] - 0.5];
  };
  const nearest = ([x, y]) => {
    let best = -1, least = Infinity;
    handles().forEach((handle, i) => {
      const far = Math.hypot(handle[0] - x, handle[1] - y);
      if (far < least) [best, least] = [i, far];
    });
    return best;
  };

  // What the hand on the easel does.
  let held = null;
  easel.heldBy({
    size: () => photo.px,
    zoomed: () => paint(),
    shifts: () => tool() === "move",
    begin: (event) => {
      if (sending) return false;
      const at = placeOf(event);
      const later = after;
      if (tool() === "outline" || tool() === "water_line") {
        const handle = nearest(at);
        if (handle < 0) return false;
        remember();
        held = { handle, later };
        moveHandle(handle, at);
      } else {
        remember();
        held = { stroke: { kind: tool(), width: Math.round(brush() * 10) / 10, points: [tenth(at)] }, later };
        state.strokes.push(held.stroke);
        paint();
      }
      return true;
    },
    move: (event) => {
      if (held.handle !== undefined) return moveHandle(held.handle, placeOf(event));
      const steps = event.getCoalescedEvents?.() ?? [];
      for (const step of steps.length ? steps : [event]) {
        const at = tenth(placeOf(step));
        const last = held.stroke.points[held.stroke.points.length - 1];
        if (Math.hypot(at[0] - last[0], at[1] - last[1]) >= photo.brush / 3) held.stroke.points.push(at);
      }
      paint();
    },
    end: () => (held = null),
    takeBack: () => {
      state = JSON.parse(before.pop());
      after = held.later;
      held = null;
      paint();
    },
  });

  const fresh = () => {
    state = { strokes: [], outline: null, water_line: null, dry: false };
    before = [];
    after = [];
  };
  const open = () => {
    photo = viewer.photo();
    fresh();
    byId("easel-photo").src = photo.photo;
    byId("easel-layer").src = photo.found;
    ink.setAttribute("viewBox", `0 0 ${photo.px[0]} ${photo.px[1]}`);
    ink.setAttribute("preserveAspectRatio", "none");
    byId("easel-day").textContent = photo.heading;
    byId("easel-box").hidden = false;
    byId("next").hidden = true;
    byId("open-easel").disabled = true;  // what is drawn now is of this photo
    easel.whole();
    paintEarlier();
    byId("easel-box").scrollIntoView({ block: "start" });
  };
  const close = () => {
    fresh();
    byId("easel-box").hidden = true;
    byId("open-easel").disabled = false;
    byId("easel-day").textContent = viewer.photo().heading;
  };
  const step = (from, to) => {
    if (from.length === 0 || sending || held) return;
    to.push(JSON.stringify(state));
    state = JSON.parse(from.pop());
    paint();
  };
  const undo = () => step(before, after), redo = () => step(after, before);

  /// @param then  done once it is kept.
  const save = (then) => {
    const say = (words) => (byId("done").textContent = words);
    if (unsaved() === "") return void say(t("Nothing drawn yet: there is nothing to save."));
    if (state.outline && crossed(state.outline)) {
      if (then) stay();
      return void say(t("The corners are crossed: the rim's belong above, the base's below, left to the left."));
    }
    const correction = { schema: 1, photo: photo.name, tub: photo.tub, ...drawing() };
    // What is kept is earlier from now on: several corrections of a photo add up.
    const kept = () => {
      const earlier = photo.drawn ?? {};
      photo.drawn = { ...earlier, ...correction, strokes: [...(earlier.strokes ?? []), ...correction.strokes] };
      photo.touched = true;
      if (correction.outline) photo.outline = correction.outline;
      if (correction.water_line) photo.water_line = correction.water_line;
      sending = false;
      fresh();
      paintEarlier();
      paint();
      if (then) then();
    };
    const failed = (words) => {
      sending = false;
      status();
      say(words);
      if (then) stay();
    };
    // Where the page is served, what is drawn is kept at once.
    if (!document.dispatchEvent(new CustomEvent("correction", { detail: { correction, photo, kept, failed }, cancelable: true }))) {
      sending = true;
      status();
      return void say(t("Saving what you drew."));
    }
    const file = `${photo.stem.replaceAll("/", "_")}.json`;
    saveAs(new Blob([JSON.stringify(correction)], { type: "application/json" }), file);
    kept();
    byId("file").textContent = file;
    say(t("Saved as {file}.", { file }));
    byId("next").hidden = false;
  };

  const stay = () => viewer.choose(season.photos.indexOf(photo));
  const guarded = guardUnsaved({ words: unsaved, heading: () => photo.heading, save, stay });
  const leave = (then) => (sending ? stay() : guarded(then));

  byId("open-easel").addEventListener("click", open);
  byId("undo").addEventListener("click", undo);
  byId("redo").addEventListener("click", redo);
  byId("save").addEventListener("click", () => save());
  byId("close").addEventListener("click", () => leave(() => {
    close();
    byId("open-easel").focus();
  }));
  byId("easel-found").addEventListener("change", (event) => (byId("easel-layer").hidden = !event.target.checked));
  byId("dry").addEventListener("change", (event) => {
    remember();
    state.dry = event.target.checked;
    paint();
  });
  document.querySelectorAll("input[name=tool]").forEach((choice) => choice.addEventListener("change", paint));
  document.addEventListener("keydown", (event) => {
    const key = event.key.toLowerCase();
    if (!(event.ctrlKey || event.metaKey) || (key !== "z" && key !== "y") || byId("easel-box").hidden) return;
    if (event.target.matches("textarea, input:not([type=radio], [type=checkbox], [type=range])")) return;
    event.preventDefault();
    if (key === "y" || event.shiftKey) redo();
    else undo();
  });
  new ResizeObserver(() => photo && !byId("easel-box").hidden && easel.fit()).observe(byId("easel"));
  viewer.whenChosen((chosen) => {
    if (byId("easel-box").hidden) byId("easel-day").textContent = chosen.heading;
    else if (chosen !== photo) leave(open);
  });
  // Where the page is served: something saved was taken back, or the photo has been measured again.
  document.addEventListener("taken-back", ({ detail }) => {
    Object.assign(detail.photo, { drawn: detail.drawn, touched: true });
    if (detail.photo === photo && !byId("easel-box").hidden) paintEarlier();
  });
  document.addEventListener("measured", ({ detail: { now, address } }) => {
    const there = season.photos.find((one) => one.name === now.name && one.tub === now.tub);
    if (!there) return;
    Object.assign(there, now, there.touched ? { drawn: there.drawn } : {});  // more may have been saved since
    if (there !== photo || byId("easel-box").hidden) return;
    byId("easel-layer").src = address;
    paintEarlier();
    paint();
  });
  byId("touch-up").hidden = false;
})();
