"use strict";
// The plan as a table to be filled in. Columns of the grower's own come along and stay.
(() => {
  const heads = document.getElementById("heads");
  if (heads === null) return;
  const rows = document.getElementById("rows"), said = document.getElementById("said");
  const words = {
    cutting: "Cutting", tub: "Tub", position: "Place in the tub", variety: "Variety", medium: "Medium", treatment: "Treatment",
    stuck_on: "Stuck on", tub_type: "Tub size", note: "Note", given_up_on: "Given up on", potted_up_on: "Potted up on",
  };
  let columns = [], types = [], changed = false;
  const plain = (name) => name.trim().toLowerCase().replace(/[ -]/g, "_");
  const ask = async (method, path, value) => {
    const answer = await fetch(path, { method, body: value && JSON.stringify(value), headers: { "Content-Type": "application/json" } });
    const told = await answer.json().catch(() => ({}));
    if (!answer.ok) throw new Error(told.error ?? `Not possible (${answer.status}).`);
    return told;
  };
  const field = (name, value) => {
    let input;
    if (plain(name) === "tub_type") {
      input = document.createElement("select");
      const names = ["", ...types.map((type) => type.name)];
      if (!names.includes(value)) names.push(value);
      input.append(...names.map((one) => new Option(one, one, false, one === value)));
    } else {
      input = document.createElement("input");
      // A date that was typed in another form stays as it is.
      if (["stuck_on", "given_up_on", "potted_up_on"].includes(plain(name)) && (value === "" || /^\d{4}-\d\d-\d\d$/.test(value))) input.type = "date";
      input.value = value;
      input.autocomplete = "off";
    }
    input.dataset.column = name;
    input.setAttribute("aria-label", words[plain(name)] ?? name);
    input.addEventListener("input", () => (changed = true));
    return input;
  };
  const addRow = (row) => {
    const line = document.createElement("tr");
    for (const name of columns) {
      const cell = document.createElement("td");
      cell.append(field(name, row[name] ?? ""));
      line.append(cell);
    }
    rows.append(line);
  };
  const show = (form) => {
    [columns, types] = [form.columns, form.types];
    heads.replaceChildren(...columns.map((name) => Object.assign(document.createElement("th"), { scope: "col", textContent: words[plain(name)] ?? name })));
    rows.replaceChildren();
    form.rows.forEach(addRow);
    if (form.rows.length === 0) addRow({});
  };
  const told = async (work) => {
    said.textContent = "";
    try {
      said.textContent = await work();
    } catch (error) {
      said.textContent = error.message;
    }
    said.scrollIntoView({ block: "nearest" });
  };
  const formRows = () => [...rows.children].map((line) => Object.fromEntries([...line.querySelectorAll("[data-column]")].map((input) => [input.dataset.column, input.value.trim()])));

  document.getElementById("more").addEventListener("click", () => {
    // Most tubs of a batch are like the one before.
    const last = formRows().at(-1) ?? {};
    const like = Object.fromEntries(Object.entries(last).filter(([name]) => ["variety", "medium", "treatment", "stuck_on", "tub_type"].includes(plain(name))));
    addRow(like);
    rows.lastElementChild.querySelector("input").focus();
  });
  document.getElementById("plan").addEventListener("submit", (event) => {
    event.preventDefault();
    told(async () => {
      await ask("POST", "plan", { columns, rows: formRows() });
      changed = false;
      return "Kept. The season's page shows it in a moment.";
    });
  });
  document.getElementById("lots").addEventListener("submit", (event) => {
    event.preventDefault();
    const data = new FormData(event.target);
    const lines = (name) => String(data.get(name)).split("\n").map((line) => line.trim()).filter(Boolean);
    told(async () => {
      show(await ask("POST", "plan/draw", {
        tubs: Number(data.get("tubs")), cuttings_per_tub: Number(data.get("cuttings_per_tub")), stuck_on: data.get("stuck_on"),
        tub_type: "", seed: crypto.getRandomValues(new Uint16Array(1))[0],
        factors: ["variety", "medium", "treatment"].map((column) => ({ column, levels: lines(column) })),
      }));
      changed = true;
      return "Drawn. Look it over, then save the plan.";
    });
  });
  document.getElementById("size").addEventListener("submit", (event) => {
    event.preventDefault();
    const data = Object.fromEntries(new FormData(event.target));
    for (const size of ["rim_diameter_mm", "base_diameter_mm", "height_mm"]) data[size] = Number(data[size]);
    told(async () => {
      const kept = formRows();
      const form = await ask("POST", "tub-type", data);
      show({ columns, rows: kept, types: form.types });
      event.target.reset();
      return `${data.name} can be chosen as a tub's size now.`;
    });
  });
  addEventListener("beforeunload", (event) => changed && event.preventDefault());
  told(async () => (show(await ask("GET", "plan.json")), ""));
})();
