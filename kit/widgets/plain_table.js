// A table of plain text. Every cell is set as text, so nothing in a name can run.

function cell(kind, text, number) {
  const made = document.createElement(kind);
  made.textContent = text;
  if (number) made.classList.add("number");
  return made;
}

// A small swatch: the yarn's colours side by side, each as wide as its share.
function swatch(runs) {
  const made = document.createElement("td");
  const strip = document.createElement("div");
  strip.className = "swatch";
  for (const [colour, share] of runs) {
    const run = document.createElement("span");
    run.style.background = colour;
    run.style.flexGrow = share;
    strip.append(run);
  }
  made.append(strip);
  return made;
}

function head(model, swatches) {
  const made = document.createElement("thead");
  const row = made.insertRow();
  model.get("columns").forEach((text, k) => {
    const heading = cell("th", text, model.get("numbers").includes(k));
    heading.scope = "col";
    row.append(heading);
  });
  if (swatches.length) row.prepend(cell("th", ""));
  return made;
}

function body(model, swatches, choose) {
  const made = document.createElement("tbody");
  model.get("rows").forEach((cells, at) => {
    const row = made.insertRow();
    if (swatches.length) row.append(swatch(swatches[at] ?? []));
    cells.forEach((text, k) =>
      row.append(cell("td", text, model.get("numbers").includes(k))));
    if (at === model.get("chosen")) row.setAttribute("aria-current", "true");
    if (model.get("choosable")) row.addEventListener("click", () => choose(at));
  });
  return made;
}

export default {
  render({ model, el }) {
    el.classList.add("plain-table");
    // Focusable to scroll by keyboard; without the mark its keys would reach Jupyter.
    const frame = document.createElement("div");
    frame.className = "frame";
    frame.tabIndex = 0;
    frame.setAttribute("role", "region");
    frame.dataset.lmSuppressShortcuts = "true";
    el.append(frame);

    function choose(at) {
      model.set("chosen", at);
      model.save_changes();
    }

    function draw() {
      const swatches = model.get("swatches");
      const table = document.createElement("table");
      table.createCaption().textContent = model.get("caption");
      frame.setAttribute("aria-label", model.get("caption"));
      table.append(head(model, swatches), body(model, swatches, choose));
      table.classList.toggle("choosable", model.get("choosable"));
      const scrolled = frame.scrollTop;
      frame.replaceChildren(table);
      frame.scrollTop = scrolled;
    }

    const watched = ["rows", "swatches", "caption", "columns", "chosen"];
    const events = watched.map((name) => `change:${name}`).join(" ");
    model.on(events, draw);
    draw();
    return () => model.off(events, draw);
  },
};
