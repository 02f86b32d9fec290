"use strict";
// Drawing on a photo what is right there, and saving it as a correction (docs/files.md, "Corrections").
// All points are px of the full-size upright photo; (0, 0) is the centre of its top left pixel, so the drawing
// is moved by half a px.
(() => {
  if (viewer === null) return;
  const ink = byId("ink");
  const corners = ["Rim, left", "Rim, right", "Base, right", "Base, left"];
  const hints = {
    "root": "Draw along a root that was missed.",
    "not root": "Draw over what was called a root and is none.",
    "outline": "Drag the four corners: the rim's onto the rim, the base's to where the sides meet the table. A tap moves the nearest corner.",
    "water_line": "Drag the line onto the top of the water. A tap moves the nearest point.",
    "move": "Drag the photo. To draw, choose a tool again.",
  };
  let photo = null;
  let state = null;
  let before = [];  // states to go back to
  let zoom = 1;

  const tool = () => document.querySelector("input[name=tool]:checked").value;
  const brush = () => photo.brush * Number(document.querySelector("input[name=brush]:checked").value);
  const draw = (name, attributes) => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    return element;
  };
  const pointsText = (points) => points.map(([x, y]) => `${x + 0.5},${y + 0.5}`).join(" ");

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

  const status = () => {
    const parts = [];
    const count = state.strokes.length;
    if (count) parts.push(count === 1 ? "1 stroke" : `${count} strokes`);
    if (state.outline) parts.push("corners moved");
    if (state.dry) parts.push("no water stands");
    else if (state.water_line) parts.push("water line moved");
    byId("done").textContent = parts.length ? `Not saved yet: ${parts.join(", ")}.` : "Nothing drawn yet.";
    byId("undo").disabled = before.length === 0;
    byId("dry").checked = state.dry;
  };

  const paint = () => {
    const perPixel = photo.px[0] / Math.max(1, ink.getBoundingClientRect().width);
    const strokes = state.strokes.map((stroke) => draw("polyline", {
      "class": `stroke ${stroke.kind.replace(" ", "-")}`,
      "stroke-width": Math.max(stroke.width, perPixel),
      // A line of one point is not drawn; a very short one is.
      "points": pointsText(stroke.points.length > 1 ? stroke.points : [stroke.points[0], [stroke.points[0][0] + 0.01, stroke.points[0][1]]]),
    }));
    const lines = [];
    const outline = tool() === "outline" ? state.outline ?? startOutline() : state.outline;
    if (outline) lines.push(draw("polygon", { "class": "edge", "points": pointsText(outline) }));
    const water = state.dry ? null : tool() === "water_line" ? state.water_line ?? startWater() : state.water_line;
    if (water) lines.push(draw("polyline", { "class": "level", "points": pointsText(water) }));
    const dots = handles().map(([x, y], i) => {
      const dot = draw("circle", {
        "class": "handle", "cx": x + 0.5, "cy": y + 0.5, "r": 14 * perPixel, "tabindex": 0, "role": "button",
        "aria-label": `${tool() === "outline" ? corners[i] : `Water line, point ${i + 1}`}: arrow keys move it`,
      });
      dot.addEventListener("keydown", (event) => {
        const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
        if (!step) return;
        event.preventDefault();
        remember();
        const size = event.shiftKey ? 10 : 2;
        moveHandle(i, [x + size * step[0] * perPixel, y + size * step[1] * perPixel]);
        ink.querySelectorAll(".handle")[i].focus();
      });
      return dot;
    });
    ink.replaceChildren(...strokes, ...lines, ...dots);
    ink.classList.toggle("moving", tool() === "move");
    byId("hint").textContent = hints[tool()];
    byId("dry-choice").hidden = tool() !== "water_line";
    byId("brushes").hidden = tool() !== "root" && tool() !== "not root";
    status();
  };

  const remember = () => before.push(JSON.stringify(state));
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

  // One pointer at a time draws; `held` is what it holds.
  let held = null;
  ink.addEventListener("pointerdown", (event) => {
    if (held || event.button > 0) return;
    const at = placeOf(event);
    if (tool() === "move") {
      if (event.pointerType !== "mouse") return;  // a finger scrolls by itself
      held = { scroll: true };
    } else if (tool() === "outline" || tool() === "water_line") {
      const handle = nearest(at);
      if (handle < 0) return;
      remember();
      held = { handle };
      moveHandle(handle, at);
    } else {
      remember();
      held = { stroke: { kind: tool(), width: Math.round(brush() * 10) / 10, points: [tenth(at)] } };
      state.strokes.push(held.stroke);
      paint();
    }
    held.pointer = event.pointerId;
    ink.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  ink.addEventListener("pointermove", (event) => {
    if (!held || event.pointerId !== held.pointer) return;
    if (held.scroll) return byId("easel").scrollBy(-event.movementX, -event.movementY);
    if (held.handle !== undefined) return moveHandle(held.handle, placeOf(event));
    const steps = event.getCoalescedEvents?.() ?? [];
    for (const step of steps.length ? steps : [event]) {
      const at = tenth(placeOf(step));
      const last = held.stroke.points[held.stroke.points.length - 1];
      if (Math.hypot(at[0] - last[0], at[1] - last[1]) >= photo.brush / 3) held.stroke.points.push(at);
    }
    paint();
  });
  const release = (event) => {
    if (held && event.pointerId === held.pointer) held = null;
  };
  ink.addEventListener("pointerup", release);
  ink.addEventListener("pointercancel", release);

  const setZoom = (next) => {
    const easel = byId("easel");
    const middle = [(easel.scrollLeft + easel.clientWidth / 2) / zoom, (easel.scrollTop + easel.clientHeight / 2) / zoom];
    zoom = Math.min(Math.max(next, 1), 6);
    // At first the whole photo is in sight.
    const whole = Math.min(easel.clientWidth, (0.75 * window.innerHeight * photo.px[0]) / photo.px[1]);
    byId("sheet").style.width = `${whole * zoom}px`;
    easel.scrollTo(middle[0] * zoom - easel.clientWidth / 2, middle[1] * zoom - easel.clientHeight / 2);
    byId("further").disabled = zoom === 1;
    byId("closer").disabled = zoom === 6;
    paint();
  };

  const open = () => {
    photo = viewer.photo();
    state = { strokes: [], outline: null, water_line: null, dry: false };
    before = [];
    byId("easel-photo").src = photo.photo;
    byId("easel-layer").src = photo.found;
    ink.setAttribute("viewBox", `0 0 ${photo.px[0]} ${photo.px[1]}`);
    ink.setAttribute("preserveAspectRatio", "none");
    byId("easel-box").hidden = false;
    byId("next").hidden = true;
    byId("open-easel").disabled = true;  // what is drawn now is of this photo
    setZoom(1);
  };
  const undo = () => {
    if (before.length === 0) return;
    state = JSON.parse(before.pop());
    paint();
  };

  // As the reader of corrections asks: each corner turns the same way, and the rim is over the base.
  const crossed = (points) => {
    const turn = ([ax, ay], [bx, by], [cx, cy]) => (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    return points.some((_, i) => turn(points[i], points[(i + 1) % 4], points[(i + 2) % 4]) <= 1) ||
           points[0][1] + points[1][1] >= points[2][1] + points[3][1];
  };
  const save = () => {
    if (before.length === 0) return void (byId("done").textContent = "Nothing drawn yet: there is nothing to save.");
    if (state.outline && crossed(state.outline))
      return void (byId("done").textContent = "The corners are crossed: the rim's belong above, the base's below, left to the left.");
    const correction = { schema: 1, photo: photo.name, tub: photo.tub, strokes: state.strokes };
    if (state.outline) correction.outline = state.outline;
    if (state.dry) correction.water_line = [];
    else if (state.water_line) correction.water_line = state.water_line;
    // Where the page is served, what is drawn is kept at once.
    const tell = (words, kept = false) => {
      byId("done").textContent = words;
      if (kept) before = [];
    };
    if (!document.dispatchEvent(new CustomEvent("correction", { detail: { correction, tell }, cancelable: true }))) return;
    const file = `${photo.stem.replaceAll("/", "_")}.json`;
    saveAs(new Blob([JSON.stringify(correction)], { type: "application/json" }), file);
    byId("file").textContent = file;
    byId("done").textContent = `Saved as ${file}.`;
    byId("next").hidden = false;
  };

  byId("open-easel").addEventListener("click", open);
  byId("undo").addEventListener("click", undo);
  byId("save").addEventListener("click", save);
  byId("close").addEventListener("click", () => {
    byId("easel-box").hidden = true;
    byId("open-easel").disabled = false;
    byId("easel-day").textContent = viewer.photo().heading;
    byId("open-easel").focus();
  });
  byId("closer").addEventListener("click", () => setZoom(zoom * 1.5));
  byId("further").addEventListener("click", () => setZoom(zoom / 1.5));
  byId("easel-found").addEventListener("change", (event) => (byId("easel-layer").hidden = !event.target.checked));
  byId("dry").addEventListener("change", (event) => {
    remember();
    state.dry = event.target.checked;
    paint();
  });
  document.querySelectorAll("input[name=tool]").forEach((choice) => choice.addEventListener("change", paint));
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key !== "z" || byId("easel-box").hidden) return;
    event.preventDefault();
    undo();
  });
  new ResizeObserver(() => photo && !byId("easel-box").hidden && paint()).observe(byId("easel"));
  viewer.whenChosen((chosen) => {
    if (byId("easel-box").hidden) byId("easel-day").textContent = chosen.heading;
  });
  byId("touch-up").hidden = false;
})();
