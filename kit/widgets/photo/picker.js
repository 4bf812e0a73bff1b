// What hands do on the photo: buttons, pointer, keys.

class Picker extends Names {
  // --- doing

  takeSuggested() {
    const free = this.regions.free();
    if (!free.length) return;
    this.regions.remember();
    this.regions.add(...free);
    const first = this.regions.all.find(({ role, name }) => !role && !name);
    if (first) this.toName(first.id);
    this.hint.textContent = "Type its name and press Enter: the next one follows.";
  }

  remove(id) {
    const all = this.regions.all, at = all.findIndex((region) => region.id === id);
    if (at < 0) return;
    this.regions.remember();
    this.regions.remove(id);
    const next = this.regions.all[Math.min(at, all.length - 2)];
    (next ? this.nodes.get(next.id) : this.stage).focus({ preventScroll: true });
    this.hint.textContent = "Removed. Undo brings it back.";
  }

  resize(id, wider, higher) {
    const one = this.regions.one(id);
    if (!one) return;
    this.regions.remember();
    const round = one.shape === "circle" && !wider ? higher : wider;
    const width = one.width + round / this.scale;
    this.regions.change(id, { width, height: one.height + higher / this.scale });
  }

  begin(x, y) {
    if (this.tool === "target") return this.corner(x, y);
    this.regions.remember();
    const tool = this.tool in { put: 1, pan: 1 } ? "ball" : this.tool;
    return this.take(this.regions.add(this.regions.here(tool, x, y)));
  }

  corner(x, y) {
    const { corners, all } = this.regions;
    this.regions.remember();
    if (corners.length < 4) this.regions.keep(all, [...corners, [x, y]]);
    else {
      const far = corners.map(([cx, cy]) => Math.hypot(cx - x, cy - y));
      this.regions.moveCorner(far.indexOf(Math.min(...far)), x, y);
    }
    const n = this.regions.corners.length;
    this.hint.textContent = n < 4
      ? `Corner ${n} of 4. Go on clockwise.`
      : "Four corners. Drag one, or click to move the nearest.";
  }

  // Choose a region and put the keys on it.
  take(id) {
    this.choose(id);
    this.nodes.get(id)?.focus({ preventScroll: true });
  }

  // --- pointer

  place(event) {
    const box = this.sheet.getBoundingClientRect();
    const [wide, high] = this.regions.size;
    return [
      within(0, (event.clientX - box.left) / this.scale, wide),
      within(0, (event.clientY - box.top) / this.scale, high),
    ];
  }

  press(event) {
    if (event.button !== 0 || this.drag) return;
    event.preventDefault();
    this.svg.setPointerCapture(event.pointerId);
    const start = this.place(event), screen = [event.clientX, event.clientY];
    const region = event.target.closest("[data-id]");
    const corner = event.target.closest("[data-corner]");
    const put = this.tool === "put" && this.regions.one(this.chosen);
    const id = !put && region?.dataset.id;
    let act;
    if (id) {
      const size = event.target.closest(".grip");
      this.take(id);
      act = size ? this.sizing(id) : this.moving(id, start);
    } else if (corner) {
      corner.focus({ preventScroll: true });
      act = ([x, y]) => this.regions.moveCorner(Number(corner.dataset.corner), x, y);
    } else if (this.tool === "pan") act = this.panning(event);
    else if (!put && this.tool !== "target") act = this.drawing(start);
    this.clicked = id || corner ? null : () => this.click(...start);
    this.drag = (moved) => {
      const far = Math.hypot(moved.clientX - screen[0], moved.clientY - screen[1]);
      if (this.clicked !== undefined && far < 4) return;
      if (this.clicked !== undefined && this.tool !== "pan") this.regions.remember();
      this.clicked = undefined; // from here on it is a drag
      act?.(this.place(moved), moved);
    };
  }

  release(event) {
    const clicked = event.type === "pointerup" && this.clicked;
    if (this.drag && this.clicked === undefined) this.drag(event);
    this.drag = undefined;
    clicked?.();
  }

  click(x, y) {
    const one = this.regions.one(this.chosen);
    if (this.tool === "put" && one) {
      this.regions.remember();
      this.regions.change(one.id, { x, y });
      this.take(one.id);
    } else if (this.tool !== "pan" && this.tool !== "put") this.begin(x, y);
    else this.stage.focus({ preventScroll: true });
  }

  moving(id, [x, y]) {
    const was = this.regions.one(id);
    return ([nx, ny]) =>
      this.regions.change(id, { x: was.x + nx - x, y: was.y + ny - y });
  }

  sizing(id) {
    const { x, y } = this.regions.one(id);
    return ([nx, ny]) => this.regions.change(id, {
      width: 2 * Math.abs(nx - x), height: 2 * Math.abs(ny - y),
    });
  }

  drawing([x, y]) {
    const { shape, role } = this.regions.here(this.tool, -1, -1);
    let id;
    return ([nx, ny]) => {
      let [w, h] = [nx - x, ny - y];
      if (shape === "circle") {
        const side = Math.max(Math.abs(w), Math.abs(h));
        [w, h] = [side * (Math.sign(w) || 1), side * (Math.sign(h) || 1)];
      }
      const box = { x: x + w / 2, y: y + h / 2 };
      Object.assign(box, { width: Math.abs(w), height: Math.abs(h) });
      if (id) this.regions.change(id, box);
      else this.take((id = this.regions.add({ shape, role, ...box })));
    };
  }

  panning({ clientX, clientY }) {
    const { scrollLeft, scrollTop } = this.stage;
    return (_, event) => {
      this.stage.scrollLeft = scrollLeft + clientX - event.clientX;
      this.stage.scrollTop = scrollTop + clientY - event.clientY;
    };
  }

  // --- keys

  key(event) {
    if (event.target.matches("input")) return;
    const { id, corner } = event.target.dataset;
    if (this.act(event, id, corner)) {
      event.preventDefault();
      event.stopPropagation();
    }
  }

  // Whether the key was ours.
  act(event, id, corner) {
    const { key } = event, arrow = ARROWS[key];
    const fine = (event.ctrlKey ? 1 : STEP) / this.scale;
    if (event.ctrlKey || event.metaKey) {
      if (key.toLowerCase() === "z") { this.regions.undo(); return true; }
      if (!arrow || event.metaKey) return false;
    }
    if (event.altKey) return false;
    if (key.toLowerCase() === "n") { this.begin(...this.middle()); return true; }
    const grow = { "+": 1, "=": 1, "-": -1 }[key];
    if (corner !== undefined && arrow) return this.nudgeCorner(corner, arrow, fine);
    if (corner !== undefined && key === "Delete") return this.dropCorners();
    if (!id) {
      if (grow) this.zoomBy(grow > 0 ? 1.5 : 1 / 1.5);
      return Boolean(grow);
    }
    if (arrow && event.shiftKey) this.resize(id, STEP * arrow[0], -STEP * arrow[1]);
    else if (arrow) this.nudge(id, arrow, fine);
    else if (grow) this.resize(id, STEP * grow, STEP * grow);
    else if (key === "Delete" || key === "Backspace") this.remove(id);
    else if (key === "Enter") this.toName(id);
    else if (key === "Escape") this.stage.focus({ preventScroll: true });
    else return false;
    return true;
  }

  nudge(id, [dx, dy], by) {
    const { x, y } = this.regions.one(id);
    this.regions.remember();
    this.regions.change(id, { x: x + dx * by, y: y + dy * by });
  }

  nudgeCorner(k, [dx, dy], by) {
    const [x, y] = this.regions.corners[k];
    this.regions.remember();
    this.regions.moveCorner(Number(k), x + dx * by, y + dy * by);
    return true;
  }

  dropCorners() {
    this.regions.remember();
    this.regions.keep(this.regions.all, []);
    this.stage.focus({ preventScroll: true });
    return true;
  }

  // The middle of what is in view; corners made by key start apart from each other.
  middle() {
    const { stage, scale } = this, n = this.regions.corners.length;
    const spread = this.tool === "target" ? APART[n % 4] : [0.5, 0.5];
    const [wide, high] = this.regions.size;
    const width = Math.min(stage.clientWidth / scale, wide);
    const height = Math.min(stage.clientHeight / scale, high);
    return [
      stage.scrollLeft / scale + spread[0] * width,
      stage.scrollTop / scale + spread[1] * height,
    ];
  }
}

export default {
  render({ model, el }) {
    const picker = new Picker(model, el);
    return () => picker.end();
  },
};
