"use strict";
// Values under the pointer, or by arrow keys; the graph saved as it is shown, in its colours for paper.
(() => {
  const chart = byId("chart");
  const svg = chart.querySelector("svg");
  const values = byId("values");
  const days = season.graph;
  const draw = (name, attributes) => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", name);
    for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
    return element;
  };
  const marks = draw("g", {});
  svg.append(marks);
  const { width, height } = svg.viewBox.baseVal;
  let at = days.length - 1;

  const show = (place) => {
    at = Math.min(Math.max(place, 0), days.length - 1);
    const day = days[at];
    marks.replaceChildren(
      draw("line", { class: "guide", x1: day.x, x2: day.x, y1: 24, y2: height }),
      ...day.places.map(([x, y]) => draw("circle", { class: "mark", cx: x, cy: y, r: 7 })));
    values.textContent = [day.heading, ...day.lines].join("\n");
  };
  const nearest = (event) => {
    const box = svg.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * width;
    return days.reduce((best, day, i) => (Math.abs(day.x - x) < Math.abs(days[best].x - x) ? i : best), 0);
  };

  if (days.length > 0) {
    chart.addEventListener("pointermove", (event) => show(nearest(event)));
    chart.addEventListener("pointerdown", (event) => show(nearest(event)));
    chart.addEventListener("keydown", (event) => {
      const step = { ArrowLeft: -1, ArrowRight: 1, Home: -days.length, End: days.length }[event.key];
      if (step === undefined) return;
      event.preventDefault();
      show(at + step);
    });
    // Beside the drawing, from the start: nothing moves when a day is chosen, and nothing is hidden by it.
    values.hidden = false;
    show(at);
  }

  const bare = () => {
    const copy = svg.cloneNode(true);
    copy.lastElementChild.remove();
    return new XMLSerializer().serializeToString(copy);
  };
  byId("save-svg").addEventListener("click", () =>
    saveAs(new Blob([bare()], { type: "image/svg+xml" }), `${season.file}.svg`));
  byId("save-png").addEventListener("click", () => {
    const picture = new Image();
    picture.onload = () => {
      const canvas = Object.assign(document.createElement("canvas"), { width: 3 * width, height: 3 * height });
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      canvas.toBlob((blob) => saveAs(blob, `${season.file}.png`), "image/png");
    };
    picture.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(bare());
  });
  byId("saving").hidden = false;
})();
