"use strict";
// The plan as a table to be filled in. Columns of the grower's own come along and stay.
(() => {
  const heads = document.getElementById("heads");
  if (heads === null) return;
  const { ask, button, make, send, t } = Shelf;
  const rows = document.getElementById("rows"), said = document.getElementById("said"), labels = document.getElementById("labels");
  const back = document.getElementById("back"), lotSize = document.getElementById("lot-size");
  const words = {
    cutting: t("Cutting"), tub: t("Tub"), position: t("Place in the tub"), variety: t("Variety"), medium: t("Medium"), treatment: t("Treatment"),
    stuck_on: t("Stuck on"), tub_type: t("Tub size"), note: t("Note"), given_up_on: t("Given up on"), potted_up_on: t("Potted up on"),
    block: t("Stretch of the shelf"), place: t("Place on the shelf"),
  };
  const days = ["stuck_on", "given_up_on", "potted_up_on"];
  const likeTheLast = ["variety", "medium", "treatment", "stuck_on", "tub_type"];
  let columns = [], types = [], version = "", saved = false, changed = false, before = null;
  const plain = (name) => name.trim().toLowerCase().replace(/[ -]/g, "_");
  const wordsOf = (name) => words[plain(name)] ?? name;
  const change = (now) => {
    changed = now;
    labels.hidden = changed || !saved;
    document.getElementById("no-labels").hidden = !labels.hidden;
  };

  const sizes = (chosen) => {
    const names = ["", ...types.map((type) => type.name)];
    if (!names.includes(chosen)) names.push(chosen);
    return names.map((one) => new Option(one, one, false, one === chosen));
  };
  const field = (name, value) => {
    const isDay = days.includes(plain(name)) && (value === "" || /^\d{4}-\d\d-\d\d$/.test(value));  // one typed in another form stays
    const input = plain(name) === "tub_type" ? make("select", {}, ...sizes(value))
      : make("input", { type: isDay ? "date" : "text", value, autocomplete: "off" });
    input.dataset.column = name;
    input.addEventListener("input", () => change(true));
    return input;
  };
  const number = () => [...rows.children].forEach((line, i) => {
    line.querySelectorAll("[data-column]").forEach((input) => input.setAttribute("aria-label", t("{column}, row {n}", { column: wordsOf(input.dataset.column), n: i + 1 })));
    line.querySelector("button").setAttribute("aria-label", t("Remove row {n}", { n: i + 1 }));
  });
  const addRow = (row) => {
    const line = make("tr", {});
    for (const name of columns) {
      const cell = make("td", {}, field(name, row[name] ?? ""));
      cell.dataset.is = wordsOf(name);
      line.append(cell);
    }
    line.append(make("td", { className: "last" }, button(t("Remove"), () => {
      const next = line.nextElementSibling ?? line.previousElementSibling;
      line.remove();
      if (rows.children.length === 0) addRow({});
      number();
      change(true);
      (next ?? rows.firstElementChild).querySelector("[data-column]").focus();
    })));
    rows.append(line);
    number();
  };
  const formRows = () => [...rows.children].map((line) => Object.fromEntries([...line.querySelectorAll("[data-column]")].map((input) => [input.dataset.column, input.value.trim()])));
  const isEmpty = (all) => all.every((row) => Object.values(row).every((value) => value === ""));
  const show = (form) => {
    [columns, types] = [form.columns, form.types];
    heads.replaceChildren(...columns.map((name) => make("th", { scope: "col" }, wordsOf(name))), make("td", {}));
    rows.replaceChildren();
    form.rows.forEach(addRow);
    if (form.rows.length === 0) addRow({});
    lotSize.replaceChildren(...sizes(lotSize.value));
  };
  const told = async (work) => {
    try {
      said.textContent = await work();
      said.classList.remove("wrong");
    } catch (error) {
      if (error.said?.version) version = error.said.version;
      said.textContent = error.message;
      said.classList.add("wrong");
    }
    if (said.textContent) said.scrollIntoView({ block: "center" });
  };

  document.getElementById("more").addEventListener("click", () => {
    // Most tubs of a batch are like the one before.
    addRow(Object.fromEntries(Object.entries(formRows().at(-1) ?? {}).filter(([name]) => likeTheLast.includes(plain(name)))));
    rows.lastElementChild.querySelector("[data-column]").focus();
  });
  document.getElementById("plan").addEventListener("submit", (event) => {
    event.preventDefault();
    told(async () => {
      version = (await send("plan", { version, columns, rows: formRows() })).version;
      [saved, before] = [true, null];
      back.hidden = true;
      change(false);
      return t("Kept. The season's page shows it in a moment.");
    });
  });
  document.getElementById("lots").addEventListener("submit", (event) => {
    event.preventDefault();
    const data = new FormData(event.target);
    const lines = (name) => String(data.get(name)).split("\n").map((line) => line.trim()).filter(Boolean);
    told(async () => {
      const drawn = await send("plan/draw", {
        tubs: Number(data.get("tubs")), cuttings_per_tub: Number(data.get("cuttings_per_tub")), stuck_on: data.get("stuck_on"),
        tub_type: data.get("tub_type"), seed: crypto.getRandomValues(new Uint16Array(1))[0],
        factors: ["variety", "medium", "treatment"].map((column) => ({ column, levels: lines(column) })),
      });
      if (before === null && !isEmpty(formRows())) before = { columns, types, rows: formRows() };
      back.hidden = before === null;
      const also = ["variety", "medium", "treatment", "stuck_on", "tub_type", "note"].filter((name) => !drawn.columns.includes(name));
      show({ ...drawn, columns: [...drawn.columns, ...also] });
      change(true);
      return t("Drawn. Look it over, then save the plan.");
    });
  });
  back.addEventListener("click", () => {
    show({ ...before, types });
    before = null;
    back.hidden = true;
    said.textContent = t("The rows from before are back.");
    document.getElementById("more").focus();
  });
  document.getElementById("size").addEventListener("submit", (event) => {
    event.preventDefault();
    const data = Object.fromEntries(new FormData(event.target));
    for (const size of ["rim_diameter_mm", "base_diameter_mm", "height_mm"]) data[size] = Number(data[size]);
    told(async () => {
      const kept = formRows();
      show({ columns, rows: kept, types: (await send("tub-type", data)).types });
      event.target.reset();
      return t("{name} can be chosen as a tub's size now.", { name: data.name });
    });
  });
  // The browser's own language first, where there is one.
  const pages = document.getElementById("pages");
  const showPages = ({ language, units, languages }) => {
    const wanted = navigator.languages.map((one) => one.slice(0, 2));
    const order = (one) => (wanted.includes(one.code) ? wanted.indexOf(one.code) : wanted.length);
    languages.sort((a, b) => order(a) - order(b));
    pages.language.replaceChildren(...languages.map((one) => Object.assign(new Option(one.name, one.code), { lang: one.code })));
    [pages.language.value, pages.units.value] = [language, units];
  };
  pages.addEventListener("submit", (event) => {
    event.preventDefault();
    told(async () => {
      await send("pages", Object.fromEntries(new FormData(pages)));
      if (!changed) return void location.reload();
      return t("Kept. This page is in that language once it is loaded again.");
    });
  });
  addEventListener("beforeunload", (event) => changed && event.preventDefault());
  told(async () => {
    const form = await ask("GET", "plan.json");
    show(form);
    showPages(form.pages);
    version = form.version;
    saved = form.saved;
    change(false);
    return "";
  });
})();
