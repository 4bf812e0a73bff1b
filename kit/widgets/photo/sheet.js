// The photo on the page with what is marked on it.

class Sheet {
  constructor(model, el) {
    this.model = model;
    this.regions = new Regions(model);
    this.zoom = 1;
    this.nodes = new Map();
    this.rows = new Map();
    this.lay(el);
    this.listen();
    this.useTool("ball");
    this.showPhoto();
  }
  get chosen() { return this.model.get("chosen"); }
  get scale() {
    const [wide, high] = this.regions.size;
    const fit = Math.min(this.stage.clientWidth / wide, 620 / high);
    return (fit > 0 && isFinite(fit) ? fit : 0.1) * this.zoom;
  }

  // --- what is on the page

  lay(el) {
    el.classList.add("photo-picker");
    this.bar = made("div", "bar");
    this.bar.setAttribute("role", "toolbar");
    this.bar.setAttribute("aria-label", "What a click on the photo does");
    this.tools = new Map(Object.entries(TOOLS).map(([tool, [words]]) =>
      [tool, button(words, () => this.useTool(tool))]));
    this.suggest = button("Suggest regions", () => this.takeSuggested());
    this.undo = button("Undo", () => this.regions.undo());
    const acts = made("div", "bar");
    acts.append(
      this.suggest,
      button("Larger", () => this.resize(this.chosen, STEP, STEP)),
      button("Smaller", () => this.resize(this.chosen, -STEP, -STEP)),
      button("Remove", () => this.remove(this.chosen)),
      this.undo,
      button("Zoom in", () => this.zoomBy(1.5)),
      button("Zoom out", () => this.zoomBy(1 / 1.5)),
      button("Whole photo", () => this.zoomBy(0)),
    );
    this.bar.append(...this.tools.values());
    this.hint = made("p", "hint");
    this.hint.setAttribute("aria-live", "polite");
    this.stage = focusable(made("div", "stage"));
    this.stage.setAttribute("role", "group");
    this.sheet = made("div", "sheet");
    this.image = made("img");
    this.image.draggable = false;
    this.svg = drawn("svg", {});
    this.frame = drawn("polygon", { class: "frame" });
    this.svg.append(this.frame);
    this.sheet.append(this.image, this.svg);
    this.stage.append(this.sheet);
    this.list = made("ol", "regions");
    this.offered = made("datalist");
    this.offered.id = `names-${Math.random().toString(36).slice(2)}`;
    const body = made("div", "body");
    body.append(this.stage, this.list);
    el.append(this.bar, acts, this.hint, body, made("p", "keys", KEYS), this.offered);
  }

  listen() {
    const { model, svg, stage } = this;
    svg.addEventListener("pointerdown", (event) => this.press(event));
    svg.addEventListener("pointermove", (event) => this.drag?.(event));
    for (const end of ["pointerup", "pointercancel"])
      svg.addEventListener(end, (event) => this.release(event));
    stage.addEventListener("keydown", (event) => this.key(event));
    stage.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return; // the page scrolls as ever
      event.preventDefault();
      this.zoomBy(event.deltaY < 0 ? 1.2 : 1 / 1.2, event);
    }, { passive: false });
    this.told = {
      "change:picture": () => this.showPhoto(),
      "change:regions change:corners change:found change:chosen": () => this.draw(),
      "change:suggested": () => this.draw(),
      "change:names": () => this.offer(),
    };
    for (const events in this.told) model.on(events, this.told[events]);
    this.watching = new ResizeObserver(() => this.draw());
    this.watching.observe(stage);
  }

  end() {
    for (const events in this.told) this.model.off(events, this.told[events]);
    this.watching.disconnect();
    URL.revokeObjectURL(this.image.src);
  }

  showPhoto() {
    URL.revokeObjectURL(this.image.src);
    const picture = this.model.get("picture");
    const has = picture && picture.byteLength > 0;
    const blob = new Blob(has ? [picture] : [], { type: "image/png" });
    if (has) this.image.src = URL.createObjectURL(blob);
    if (!has) this.image.remove();
    else if (!this.image.isConnected) this.sheet.prepend(this.image);
    this.image.alt = this.model.get("title");
    this.stage.setAttribute("aria-label", `Photo ${this.model.get("title")}`);
    this.regions.past = [];
    this.zoom = 1;
    this.offer();
    this.draw();
  }

  offer() {
    this.offered.replaceChildren(...this.model.get("names").map((name) => {
      const option = made("option");
      option.value = name;
      return option;
    }));
  }

  useTool(tool) {
    this.tool = tool;
    for (const [each, node] of this.tools)
      node.setAttribute("aria-pressed", String(each === tool));
    this.svg.classList.toggle("grab", tool === "pan");
    this.hint.textContent = TOOLS[tool][1];
  }

  choose(id) {
    if (id === this.chosen) return;
    this.model.set("chosen", id);
    this.model.save_changes();
  }

  // --- drawing: nodes are kept, so that the focus is

  draw() {
    const { scale } = this, [wide, high] = this.regions.size;
    this.sheet.style.width = `${wide * scale}px`;
    this.sheet.style.height = `${high * scale}px`;
    const all = this.regions.all;
    this.tidy(this.nodes, all, (id) => this.newNode(id));
    this.tidy(this.rows, all, (id) => this.newRow(id));
    let yarns = 0;
    for (const region of all) {
      const label = region.role || String(++yarns);
      const found = this.model.get("found")[region.id];
      const chosen = region.id === this.chosen;
      const node = this.nodes.get(region.id);
      const now = JSON.stringify([region, label, found, chosen, scale]);
      if (node.drawnAs === now) continue; // sixty regions, one of them changed
      node.drawnAs = now;
      this.drawRegion(region, label, scale);
      this.drawRow(region, label);
    }
    this.drawCorners(scale);
    const n = this.regions.free().length;
    this.suggest.textContent = n ? `Suggest regions (${n})` : "Suggest regions";
    this.suggest.disabled = !n;
    this.undo.disabled = !this.regions.past.length;
  }

  // One node for each region, in its order; those of regions that are gone go.
  tidy(nodes, all, fresh) {
    const ids = new Set(all.map(({ id }) => id));
    for (const [id, node] of nodes)
      if (!ids.has(id)) { node.remove(); nodes.delete(id); }
    for (const { id } of all) if (!nodes.has(id)) nodes.set(id, fresh(id));
  }

  newNode(id) {
    const node = focusable(drawn("g", { class: "region", role: "button" }));
    node.dataset.id = id;
    node.addEventListener("focus", () => this.choose(id));
    this.svg.append(node);
    return node;
  }

  drawRegion(region, label, scale) {
    const node = this.nodes.get(region.id), found = this.model.get("found")[region.id];
    const chosen = region.id === this.chosen;
    const [x, y] = [region.x * scale, region.y * scale];
    const [w, h] = [region.width * scale, region.height * scale];
    const [left, top] = [x - w / 2, y - h / 2];
    const outline = (name) => region.shape === "circle"
      ? drawn("circle", { class: name, cx: x, cy: y, r: w / 2 })
      : drawn("rect", { class: name, x: left, y: top, width: w, height: h });
    const room = Math.max(3, Math.floor(w / 6.5));
    const words = region.name ? `${label} ${region.name}` : label;
    const short = words.length > room ? `${words.slice(0, room)}…` : words;
    const text = drawn("text", { x: left, y: Math.max(top - 4, 12) });
    text.textContent = region.role || chosen ? words : short;
    const parts = [outline("casing"), outline("line"), text];
    if (found?.runs?.length) parts.push(swatch(found.runs, x, y + h / 2 + 4, w));
    if (chosen) {
      const grip = region.shape === "circle" ? [x + w / 2, y] : [x + w / 2, y + h / 2];
      parts.push(handle(...grip));
    }
    node.replaceChildren(...parts);
    node.classList.toggle("chosen", chosen);
    node.classList.toggle("wrong", Boolean(found?.wrong));
    const said = found?.wrong || found?.words || "";
    const name = region.role ? label : `region ${label}, ${region.name || "no name yet"}`;
    node.setAttribute("aria-label", `${name}. ${said}`);
  }

  drawCorners(scale) {
    const corners = this.regions.corners;
    this.corners = this.corners ?? [];
    while (this.corners.length > corners.length) this.corners.pop().remove();
    while (this.corners.length < corners.length) {
      const node = focusable(drawn("g", { class: "corner", role: "button" }));
      node.dataset.corner = this.corners.length;
      node.setAttribute("aria-label", `target corner ${this.corners.length + 1}`);
      this.corners.push(node);
      this.svg.append(node);
    }
    const at = corners.map(([x, y]) => [x * scale, y * scale]);
    at.forEach(([x, y], k) => {
      const text = drawn("text", { x: x + 9, y: y - 7 });
      text.textContent = k + 1;
      this.corners[k].replaceChildren(
        drawn("circle", { class: "hit", cx: x, cy: y, r: 14 }),
        drawn("circle", { class: "casing", cx: x, cy: y, r: 6 }),
        drawn("circle", { class: "line", cx: x, cy: y, r: 6 }),
        text,
      );
    });
    set(this.frame, { points: at.map((p) => p.join(",")).join(" ") });
  }

  // --- zoom

  zoomBy(factor, event) {
    const { stage } = this, before = this.scale, box = stage.getBoundingClientRect();
    const at = event
      ? [event.clientX - box.left, event.clientY - box.top]
      : [stage.clientWidth / 2, stage.clientHeight / 2];
    const x = (stage.scrollLeft + at[0]) / before, y = (stage.scrollTop + at[1]) / before;
    this.zoom = factor ? within(1, this.zoom * factor, MOST_ZOOM) : 1;
    this.draw();
    stage.scrollLeft = x * this.scale - at[0];
    stage.scrollTop = y * this.scale - at[1];
  }

  reveal(id) {
    const one = this.regions.one(id), { stage, scale } = this;
    if (!one || this.zoom === 1) return;
    stage.scrollLeft = one.x * scale - stage.clientWidth / 2;
    stage.scrollTop = one.y * scale - stage.clientHeight / 2;
  }
}

// A swatch below a region: its colours side by side on neutral grey.
function swatch(runs, x, top, wide) {
  const width = Math.max(36, Math.min(wide, 120)), group = drawn("g", { class: "swatch" });
  let left = x - width / 2;
  group.append(drawn("rect", {
    x: left - 3, y: top - 3, width: width + 6, height: 18, fill: "#777777",
  }));
  const total = runs.reduce((sum, [, share]) => sum + share, 0) || 1;
  for (const [fill, share] of runs) {
    const part = (width * share) / total;
    group.append(drawn("rect", { x: left, y: top, width: part, height: 12, fill }));
    left += part;
  }
  return group;
}

function handle(x, y) {
  const grip = drawn("g", { class: "grip" });
  grip.append(
    drawn("rect", { class: "hit", x: x - 13, y: y - 13, width: 26, height: 26 }),
    drawn("rect", { class: "knob", x: x - 6, y: y - 6, width: 12, height: 12 }),
  );
  return grip;
}
