"use strict";
// A correction as lines on a photo, and in words.
const sketch = (() => {
  const draw = (name, attributes) => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    return element;
  };
  const pointsText = (points) => points.map(([x, y]) => `${x + 0.5},${y + 0.5}`).join(" ");
  const strokesOf = (strokes, least) => strokes.map((stroke) => draw("polyline", {
    "class": `stroke ${stroke.kind.replace(" ", "-")}`,
    "stroke-width": Math.max(stroke.width, least),
    // A line of one point is not drawn; a very short one is.
    "points": pointsText(stroke.points.length > 1 ? stroke.points : [stroke.points[0], [stroke.points[0][0] + 0.01, stroke.points[0][1]]]),
  }));
  // What a correction says, in words.
  const wordsOf = ({ strokes, outline, water_line }) => {
    const count = strokes?.length ?? 0;
    const parts = count === 0 ? [] : [count === 1 ? t("1 stroke") : t("{count} strokes", { count })];
    if (outline) parts.push(t("corners moved"));
    if (water_line) parts.push(water_line.length ? t("water line moved") : t("no water stands"));
    return parts.join(", ");
  };
  // As the reader of corrections asks: each corner turns the same way, and the rim is over the base.
  const crossed = (points) => {
    const turn = ([ax, ay], [bx, by], [cx, cy]) => (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    return points.some((_, i) => turn(points[i], points[(i + 1) % 4], points[(i + 2) % 4]) <= 1) ||
           points[0][1] + points[1][1] >= points[2][1] + points[3][1];
  };
  return { draw, pointsText, strokesOf, wordsOf, crossed };
})();
