// Regions on a photograph: drawn, moved, resized and named, by pointer or by keys.
// Places and sizes are in pixels of the full-size photo; Python answers with colours.
// Every name is set as text, so nothing in one can run.

const SVG = "http://www.w3.org/2000/svg";
const TOOLS = {
  ball: ["Ball", "Click a ball, or drag a disc over it."],
  rectangle: ["Rectangle", "Drag a rectangle, for a swatch or a skein."],
  "grey card": ["Grey card", "Drag over the grey card, clear of its edge."],
  "white paper": ["White paper", "Drag over plain white paper, clear of its edge."],
  target: [
    "Target corners",
    "Click the four corners of its patches, clockwise from the brown one.",
  ],
  put: ["Put the chosen one", "Click where the chosen region should lie."],
  pan: ["Move the photo", "Drag the photo; it can be scrolled as well."],
};
const KEYS =
  "Keys: Tab goes from region to region; arrows move (Ctrl: finely); + and −, or " +
  "Shift and arrows, resize; Delete removes; N makes a new one; Enter goes to its " +
  "name, and from there to the next one without a name; Ctrl+Z takes back.";
const ARROWS = {
  ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1],
};
const APART = [[0.3, 0.3], [0.7, 0.3], [0.7, 0.7], [0.3, 0.7]];
const STEP = 5; // of an arrow key, on the screen
const LEAST = 4; // side of a region, in pixels of the photo
const MOST_ZOOM = 12;

// --- small helpers -----------------------------------------------------------------

function made(kind, name, text) {
  const node = document.createElement(kind);
  if (name) node.className = name;
  if (text !== undefined) node.textContent = text;
  return node;
}

function drawn(kind, values) {
  const node = document.createElementNS(SVG, kind);
  set(node, values);
  return node;
}

function set(node, values) {
  for (const key in values) node.setAttribute(key, values[key]);
}

// Without the mark on the focused element itself its keys would reach Jupyter.
function focusable(node) {
  node.setAttribute("tabindex", "0");
  node.dataset.lmSuppressShortcuts = "true";
  return node;
}

function button(words, act) {
  const node = focusable(made("button", "", words));
  node.type = "button";
  node.addEventListener("click", act);
  return node;
}

const within = (low, value, high) => Math.min(Math.max(value, low), high);
const isIn = (one, x, y) =>
  one.shape === "circle"
    ? Math.hypot(x - one.x, y - one.y) <= one.width / 2
    : Math.abs(x - one.x) <= one.width / 2 && Math.abs(y - one.y) <= one.height / 2;

function isInside(corners, x, y) {
  let inside = false;
  corners.forEach(([ax, ay], k) => {
    const [bx, by] = corners[(k + 1) % corners.length];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax)
      inside = !inside;
  });
  return inside;
}

// --- the regions as values -----------------------------------------------------------

class Regions {
  constructor(model) {
    this.model = model;
    this.past = [];
  }
  get all() { return this.model.get("regions"); }
  get corners() { return this.model.get("corners"); }
  get size() { return this.model.get("size"); }
  one(id) { return this.all.find((region) => region.id === id); }

  remember() {
    this.past.push([this.all, this.corners]);
    if (this.past.length > 200) this.past.shift();
  }
  keep(regions, corners = this.corners) {
    this.model.set("regions", regions);
    this.model.set("corners", corners);
    this.model.save_changes();
  }
  undo() {
    if (this.past.length) this.keep(...this.past.pop());
  }
  // Change one; the centre stays on the photo, the size stays sensible.
  change(id, values) {
    const [wide, high] = this.size;
    this.keep(this.all.map((region) => {
      if (region.id !== id) return region;
      const one = { ...region, ...values };
      one.x = within(0, one.x, wide);
      one.y = within(0, one.y, high);
      one.width = within(LEAST, one.width, wide);
      one.height = one.shape === "circle" ? one.width : within(LEAST, one.height, high);
      return one;
    }));
  }
  add(...values) {
    const used = this.all.map(({ id }) => Number(id.slice(1)) || 0);
    let next = 1 + Math.max(0, ...used);
    const fresh = values.map((one) => ({ name: "", role: "", ...one, id: `r${next++}` }));
    this.keep([...this.all, ...fresh]);
    return fresh.at(-1)?.id;
  }
  remove(id) { this.keep(this.all.filter((region) => region.id !== id)); }
  moveCorner(k, x, y) {
    const [wide, high] = this.size;
    const corners = this.corners.map((corner) => [...corner]);
    corners[k] = [within(0, x, wide), within(0, y, high)];
    this.keep(this.all, corners);
  }
  // Suggested balls that no region, card or target lies on yet.
  free() {
    const { all, corners } = this;
    return this.model.get("suggested").filter(({ x, y, ...rest }) => {
      const ball = { x, y, ...rest };
      const taken = all.some((one) => isIn(one, x, y) || isIn(ball, one.x, one.y));
      return !taken && !(corners.length === 4 && isInside(corners, x, y));
    });
  }
  // What a click means: the suggested disc under it, else one as large as the last.
  here(tool, x, y) {
    const card = tool === "grey card" || tool === "white paper";
    const shape = card || tool === "rectangle" ? "rectangle" : "circle";
    const role = card ? tool : "";
    const ball = this.model.get("suggested").find((one) => isIn(one, x, y));
    if (shape === "circle" && ball) return { ...ball, role };
    const last = this.all.filter((r) => r.shape === shape && r.role === role).at(-1);
    const side = Math.min(...this.size) / 10;
    const width = last?.width ?? side;
    return { shape, role, x, y, width, height: last?.height ?? width };
  }
}
