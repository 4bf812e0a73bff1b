// The run of yarns as balls that hands can move. It shows what Python says and tells
// what was done; it works nothing out. Every text is set as text, so nothing in a name
// can run.

const DRAG_PX = 6; // a pointer moved by less has pressed, not dragged
const RIM_PX = 40;
const PATIENCE_MS = 4000;
const SILENT =
  "No answer yet: Python is busy, or it was restarted. If nothing happens, choose " +
  "Run → Run All Cells in the menu.";
const LEGEND =
  "▲ jump   ◆ accent   ⌒ bridge   ↕ out of value order by so many L*   ■ locked   " +
  "═ kept together. Enter picks a ball up, arrow keys move it, Enter puts it down, " +
  "Escape puts it back; or drag it; or press it and use the buttons above.";

function make(kind, name, text) {
  const made = document.createElement(kind);
  if (name) made.className = name;
  if (text !== undefined) made.textContent = text;
  return made;
}

// Without the mark on each element that takes focus its keys would reach Jupyter.
function focusable(element) {
  element.dataset.lmSuppressShortcuts = "true";
  return element;
}

function button(text, act) {
  const made = focusable(make("button", "", text));
  made.type = "button";
  made.addEventListener("click", () => {
    if (made.getAttribute("aria-disabled") !== "true") act();
  });
  return made;
}

// Not `disabled`: that would throw the focus of whoever works by keyboard away.
function allow(element, may) {
  element.setAttribute("aria-disabled", String(!may));
}

function select(label) {
  const box = make("label", "", `${label} `);
  const made = focusable(make("select"));
  box.append(made);
  return [box, made];
}

function options(element, pairs) {
  const was = element.value;
  element.replaceChildren(
    ...pairs.map(([value, text]) => {
      const made = make("option", "", text);
      made.value = value;
      return made;
    }),
  );
  if (pairs.some(([value]) => String(value) === was)) element.value = was;
}

function paint(runs, name) {
  const made = make("div", name);
  for (const [colour, share] of runs) {
    const run = make("span");
    run.style.background = colour;
    run.style.flexGrow = share;
    made.append(run);
  }
  return made;
}

// One ball: swatch, grey twin, marks, name. `yarn` is its place in the list of yarns.
function newBall(yarn, row, where) {
  const made = focusable(make("div", "ball"));
  made.dataset.yarn = yarn;
  made.dataset.where = where;
  made.setAttribute("role", "option");
  made.tabIndex = -1;
  const name = make("div", "name", row.name);
  name.dir = "auto";
  made.append(
    paint(row.paint, "paint"),
    paint(row.grey, "paint grey"),
    make("div", "marks"),
    name,
  );
  return made;
}

function newCell(ball) {
  const made = make("div", "cell");
  made.setAttribute("role", "none");
  const gap = make("div", "gap");
  gap.setAttribute("aria-hidden", "true");
  gap.append(make("span", "mark"), make("span", "size"));
  const family = make("div", "family");
  family.setAttribute("aria-hidden", "true");
  family.append(make("span"));
  made.append(family, ball, gap);
  return made;
}

// Each mark as it is shown, and in words for whoever listens.
function marksOf(member, row) {
  const marks = [];
  if (member.bridge) marks.push(["⌒ bridge", member.bridge]);
  if (row.accent) marks.push(["◆ accent", "accent"]);
  if (member.locked) marks.push(["■ locked", "locked in its place"]);
  if (member.late) marks.push([`↕ ${member.late} L*`, `${member.late} L* out of value order`]);
  return marks;
}

// What scrolls the page, so that a ball can be carried beyond what is to be seen.
function scroller(element) {
  for (let up = element.parentElement; up; up = up.parentElement)
    if (up.scrollHeight > up.clientHeight + 20 && /auto|scroll/.test(getComputedStyle(up).overflowY))
      return up;
  return null;
}

class View {
  constructor(model, el) {
    this.model = model;
    this.el = el;
    this.balls = new Map(); // by place in the list of yarns, those of the run
    this.waiting = ""; // the token of an act that is not answered yet
    this.held = null; // a ball picked up by key: {ball, home}
    this.drag = null; // a ball under the pointer
    this.focused = null; // the yarn whose ball has the roving tab stop
    this.chosen = null;
    this.edition = -1;
    this.asked = false;
    this.build();
  }

  // --- building ---

  build() {
    const { el } = this;
    el.classList.add("shade-strip");
    this.bar = this.toolbar();
    this.numbers = make("div", "numbers");
    this.said = make("div", "said");
    this.said.setAttribute("role", "status");
    this.said.setAttribute("aria-live", "polite");
    this.run = make("div", "balls");
    this.run.setAttribute("role", "listbox");
    this.run.setAttribute("aria-orientation", "horizontal");
    this.run.setAttribute("aria-label", "The run of yarns, light end first");
    this.caret = make("div", "caret");
    this.caret.hidden = true;
    this.told = make("div", "told");
    this.told.setAttribute("aria-live", "polite");
    this.panel = this.chosenPanel();
    this.tray = make("div", "tray");
    el.append(
      this.bar, this.numbers, this.said, this.run, this.told, this.panel,
      make("div", "legend", LEGEND), this.tray,
    );
    el.addEventListener("pointerdown", (event) => this.pressed(event));
    el.addEventListener("pointermove", (event) => this.dragged(event));
    el.addEventListener("pointerup", (event) => this.dropped(event));
    el.addEventListener("pointercancel", () => this.cancelDrag());
    el.addEventListener("pointerover", (event) => this.pointedAt(event.target));
    el.addEventListener("focusin", (event) => this.focusedOn(event.target));
    el.addEventListener("focusout", (event) => this.left(event));
    el.addEventListener("keydown", (event) => this.key(event));
  }

  toolbar() {
    const bar = make("div", "bar");
    bar.setAttribute("role", "toolbar");
    bar.setAttribute("aria-label", "The run as a whole");
    this.undo = button("Undo", () => this.tell("undo"));
    this.redo = button("Redo", () => this.tell("redo"));
    this.computed = button("Put back the computed order", () => this.tell("computed"));
    const [box, way] = select("Arrange the rest anew");
    options(way, [
      ["smoothest", "smoothest"], ["family", "by family"], ["value", "by value"],
    ]);
    this.anew = button("Arrange", () => this.tell("anew", { way: way.value }));
    this.stop = button("Stop", () => {
      this.anew.focus(); // the button goes
      this.tell("stop");
    });
    this.busy = make("span", "busy");
    this.busy.setAttribute("role", "status");
    this.greys = this.toggle("Grey twins", "greys");
    this.families = this.toggle("Family brackets", "families");
    bar.append(
      this.undo, this.redo, this.computed, box, this.anew, this.greys, this.families,
      this.stop, this.busy,
    );
    return bar;
  }

  toggle(text, trait) {
    const made = button(text, () => {
      this.model.set(trait, !this.model.get(trait));
      this.model.save_changes();
      this.draw();
    });
    return made;
  }

  chosenPanel() {
    const panel = make("div", "chosen");
    panel.setAttribute("role", "group");
    panel.setAttribute("aria-label", "The chosen ball");
    const on = (act, more) => () => this.tell(act, { yarn: this.chosen, ...more });
    this.which = make("strong", "", "");
    this.earlier = button("Earlier", on("shift", { by: -1 }));
    this.later = button("Later", on("shift", { by: 1 }));
    const [box, where] = select("Move to");
    this.where = where;
    this.go = button("Move there", () =>
      this.tell("move", { yarn: this.chosen, before: Number(this.where.value) }));
    this.lock = button("Lock in its place", on("lock"));
    this.tie = button("Keep with the next", on("tie"));
    this.out = button("Leave out", on("out"));
    this.best = button("Where it fits best", () => {
      this.wanted = this.chosen; // the button goes: focus goes to the ball
      this.tell("place", { yarn: this.chosen });
    });
    panel.append(
      this.which, this.earlier, this.later, box, this.go, this.lock, this.tie,
      this.out, this.best,
    );
    return panel;
  }

  // --- telling Python ---

  tell(act, more = {}) {
    this.waiting = `${Date.now()}-${Math.random()}`;
    this.run.classList.add("waiting");
    this.asked = true;
    this.model.send({
      act, edition: this.model.get("edition"), token: this.waiting, ...more,
    });
    const { waiting } = this;
    setTimeout(() => {
      if (this.waiting === waiting) this.say(SILENT);
    }, PATIENCE_MS);
  }

  say(text) {
    this.said.textContent = text;
  }

  // --- drawing ---

  answered() {
    if (this.model.get("answer") !== this.waiting) return;
    this.waiting = "";
    this.lastSaid = null; // what is said now is the answer, even if said before
    this.run.classList.remove("waiting");
  }

  // Whatever is under a hand stays there: it is drawn when the hand is off.
  draw() {
    if (this.held || this.drag) return;
    const { model } = this;
    const yarns = model.get("yarns");
    const run = model.get("run");
    const steps = model.get("steps");
    if (this.edition !== model.get("edition")) {
      this.edition = model.get("edition");
      this.balls.clear();
    }
    this.el.classList.toggle("greys", model.get("greys"));
    this.run.classList.toggle("families", model.get("families"));
    const cells = run.map((member, k) => this.cell(member, k, run, steps, yarns));
    this.put(cells);
    this.drawTray(yarns);
    this.drawTexts();
    this.drawChosen(yarns, run);
    if (this.wanted !== undefined && !this.waiting) {
      this.ball(this.wanted)?.focus({ preventScroll: true });
      this.wanted = undefined;
    }
  }

  // Only nodes out of their place are moved, so that focus and eye stay.
  put(cells) {
    const active = document.activeElement;
    const inside = this.run.contains(active) || this.tray.contains(active);
    const yarn = inside ? active.dataset.yarn : undefined;
    const wanted = new Set(cells);
    for (const node of [...this.run.children])
      if (node !== this.caret && !wanted.has(node)) node.remove();
    cells.forEach((cell, k) => {
      const there = this.run.children[k];
      if (there !== cell) this.run.insertBefore(cell, there ?? null);
    });
    this.run.append(this.caret);
    this.caret.hidden = true;
    if (yarn !== undefined && document.activeElement !== active)
      this.ball(Number(yarn))?.focus({ preventScroll: true });
  }

  ball(yarn) {
    return this.el.querySelector(`.ball[data-yarn="${yarn}"]`);
  }

  cell(member, k, run, steps, yarns) {
    const row = yarns[member.yarn];
    let cell = this.balls.get(member.yarn);
    if (!cell) {
      cell = newCell(newBall(member.yarn, row, "run"));
      this.balls.set(member.yarn, cell);
    }
    const [family, ball, gap] = cell.children;
    ball.classList.remove("held", "dragged");
    ball.style.transform = "";
    const marks = marksOf(member, row);
    ball.querySelector(".marks").replaceChildren(
      ...marks.map(([mark]) => make("div", "", mark)),
    );
    const tied = member.tied ? ", kept together with the next" : "";
    const words = marks.map(([, text]) => `, ${text}`).join("");
    ball.setAttribute(
      "aria-label",
      `${row.name}, ${k + 1} of ${run.length}, no. ${row.no}, L* ${row.value}, ` +
        `${row.family}${words}${tied}`,
    );
    const step = steps[k];
    gap.hidden = !step;
    gap.className = "gap" + (step?.loud ? " loud" : "") + (member.tied ? " tied" : "");
    gap.children[0].textContent = step?.mark ?? "";
    gap.children[1].textContent = step?.size ?? "";
    gap.dataset.step = k;
    const before = k && yarns[run[k - 1].yarn].family === row.family;
    const after = k + 1 < run.length && yarns[run[k + 1].yarn].family === row.family;
    family.hidden = !this.model.get("families");
    family.classList.toggle("ends", !after);
    family.firstChild.textContent = before ? "" : row.family;
    return cell;
  }

  drawTray(yarns) {
    const key = JSON.stringify([this.edition, this.model.get("tray")]);
    if (key === this.trayKey) return;
    this.trayKey = key;
    const active = document.activeElement;
    const yarn = this.tray.contains(active) ? active.dataset.yarn : undefined;
    const scrolled = this.tray.scrollTop;
    this.tray.replaceChildren();
    for (const group of this.model.get("tray")) {
      const shelf = make("div", "shelf");
      shelf.setAttribute("role", "listbox");
      shelf.setAttribute("aria-orientation", "horizontal");
      shelf.setAttribute("aria-label", group.title);
      for (const one of group.yarns) {
        const row = yarns[one];
        const ball = newBall(one, row, group.kind);
        ball.setAttribute(
          "aria-label",
          `${row.name}, no. ${row.no}, L* ${row.value}, ${row.family}, ${group.title}`,
        );
        shelf.append(ball);
      }
      if (!group.yarns.length) shelf.append(make("div", "empty", group.empty));
      if (shelf.firstChild.classList.contains("ball")) shelf.firstChild.tabIndex = 0;
      this.tray.append(make("h4", "", group.title), shelf);
    }
    this.tray.scrollTop = scrolled;
    if (yarn !== undefined) this.ball(Number(yarn))?.focus({ preventScroll: true });
  }

  drawTexts() {
    const { model } = this;
    this.numbers.textContent = model.get("numbers");
    if (this.lastSaid !== model.get("sentences")) this.say(model.get("sentences"));
    this.lastSaid = model.get("sentences");
    this.busy.textContent = model.get("busy");
    this.stop.hidden = !model.get("busy");
    allow(this.undo, model.get("can_undo"));
    allow(this.redo, model.get("can_redo"));
    allow(this.computed, model.get("by_hand"));
    this.greys.setAttribute("aria-pressed", String(model.get("greys")));
    this.families.setAttribute("aria-pressed", String(model.get("families")));
  }

  drawChosen(yarns, run) {
    const ball = this.chosen === null ? null : this.ball(this.chosen);
    if (!ball) this.chosen = null;
    for (const one of this.el.querySelectorAll(".ball"))
      one.setAttribute("aria-selected", String(one === ball));
    const place = run.findIndex((member) => member.yarn === this.chosen);
    const member = run[place];
    const inRun = place >= 0;
    this.which.textContent = ball
      ? yarns[this.chosen].name + (inRun ? `, ${place + 1} of ${run.length}` : "")
      : "No ball is chosen: press one.";
    this.drawWhere(yarns, run);
    const bridge = inRun ? member.bridge : ball?.dataset.where === "bridge";
    const next = inRun ? run[place + 1] : undefined;
    allow(this.earlier, inRun && place > 0);
    allow(this.later, inRun && place < run.length - 1);
    allow(this.go, ball !== null);
    allow(this.lock, inRun && !bridge);
    this.lock.textContent = member?.locked ? "Unlock" : "Lock in its place";
    allow(this.tie, inRun && !bridge && next && !next.bridge);
    this.tie.textContent = member?.tied ? "Let it part from the next" : "Keep with the next";
    allow(this.out, inRun);
    this.out.textContent = bridge ? "Take the bridge out" : "Leave out";
    this.go.textContent = inRun || !ball ? "Move there" : bridge ? "Put in there" : "Bring back there";
    this.best.hidden = this.chosen === null || inRun;
    const stop = run.find((one) => one.yarn === this.focused) ?? run[0];
    for (const one of this.run.querySelectorAll(".ball"))
      one.tabIndex = Number(one.dataset.yarn) === stop?.yarn ? 0 : -1;
  }

  // Filled only when it may be seen, and anew only where the run has changed.
  drawWhere(yarns, run) {
    const key = `${this.edition}/${run.map((one) => one.yarn)}`;
    if (key === this.whereKey || this.chosen === null) return;
    this.whereKey = key;
    const name = (one) => yarns[one.yarn].name;
    const places = run.map((one, k) => [
      one.yarn,
      k ? `${k + 1}: between ${name(run[k - 1])} and ${name(one)}` : `1: before ${name(one)}`,
    ]);
    places.push([-1, `${run.length + 1}: after ${run.length ? name(run.at(-1)) : ""}`]);
    options(this.where, places);
  }

  // --- looking and choosing ---

  choose(yarn) {
    this.chosen = yarn;
    this.drawChosen(this.model.get("yarns"), this.model.get("run"));
  }

  pointedAt(target) {
    if (this.held || this.drag?.moved) return;
    const gap = target.closest?.(".gap");
    const ball = target.closest?.(".ball");
    if (gap) this.told.textContent = this.words(Number(gap.dataset.step));
    else if (ball) this.tellBall(ball);
  }

  words(k) {
    return this.model.get("steps")[k]?.words ?? "";
  }

  // A ball's own line, and its steps in words: from the one before, to the one after.
  tellBall(ball) {
    const yarn = Number(ball.dataset.yarn);
    const place = this.model.get("run").findIndex((member) => member.yarn === yarn);
    const said = place < 0
      ? ball.getAttribute("aria-label")
      : [place ? this.words(place - 1) : "", this.words(place)].filter(Boolean).join("  ·  ");
    this.told.textContent = said;
  }

  focusedOn(target) {
    if (!target.classList?.contains("ball") || this.held) return;
    const yarn = Number(target.dataset.yarn);
    if (target.dataset.where === "run") this.focused = yarn;
    this.choose(yarn);
    this.tellBall(target);
  }

  // --- keys ---

  key(event) {
    const undo = event.key.toLowerCase() === "z" && (event.ctrlKey || event.metaKey);
    const redo = event.key.toLowerCase() === "y" && event.ctrlKey;
    if ((undo || redo) && !this.held) {
      event.preventDefault();
      event.stopPropagation();
      this.tell(redo || event.shiftKey ? "redo" : "undo");
      return;
    }
    if (event.key === "Escape" && this.drag) this.cancelDrag();
    const ball = event.target.closest?.(".ball");
    if (!ball || event.ctrlKey || event.metaKey || event.altKey) return;
    const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
    const row = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    const end = { Home: -1, End: 1 }[event.key];
    if (event.key === "Enter" || event.key === " ") this.held ? this.putDown() : this.pickUp(ball);
    else if (event.key === "Escape") this.putBack("Put back: nothing moved.");
    else if (this.held && (by || row || end)) this.carry(by ?? 0, row ?? 0, end ?? 0);
    else if (by || row || end) this.walk(ball, by ?? 0, row ?? 0, end ?? 0);
    else return;
    event.preventDefault();
    event.stopPropagation();
  }

  walk(ball, by, row, end) {
    const balls = [...ball.closest("[role=listbox]").querySelectorAll(".ball")];
    const at = this.next(balls, balls.indexOf(ball), by, row, end);
    const next = balls[Math.min(Math.max(at, 0), balls.length - 1)];
    next.tabIndex = 0;
    next.focus();
  }

  // One to either side, the nearest in the row above or below, or an end.
  next(balls, at, by, row, end) {
    if (end) return end < 0 ? 0 : balls.length - 1;
    if (!row) return at + by;
    const boxes = balls.map((ball) => ball.getBoundingClientRect());
    const tops = [...new Set(boxes.map((box) => Math.round(box.top / 20)))];
    const line = tops[tops.indexOf(Math.round(boxes[at].top / 20)) + row];
    const near = boxes.map((box, k) => [Math.abs(box.left - boxes[at].left), k]);
    const there = near.filter(([, k]) => Math.round(boxes[k].top / 20) === line);
    return there.length ? there.sort((a, b) => a[0] - b[0])[0][1] : at;
  }

  pickUp(ball) {
    const fromRun = ball.dataset.where === "run";
    const cell = fromRun ? ball.closest(".cell") : newCell(ball.cloneNode(true));
    this.held = { ball, cell, fromRun, home: cell.nextSibling };
    if (!fromRun) {
      this.run.insertBefore(cell, this.run.firstChild.nextSibling);
      this.held.ball = focusable(cell.querySelector(".ball"));
    }
    this.held.ball.classList.add("held");
    this.held.ball.focus();
    const name = this.model.get("yarns")[Number(ball.dataset.yarn)].name;
    this.say(
      `${name} is picked up. Arrow keys move it, Enter puts it down, Escape puts it back.`,
    );
  }

  carry(by, row, end) {
    const { cell, ball } = this.held;
    const cells = [...this.run.querySelectorAll(".cell")];
    const balls = cells.map((one) => one.querySelector(".ball"));
    const at = cells.indexOf(cell);
    const to = Math.min(Math.max(this.next(balls, at, by, row, end), 0), cells.length - 1);
    if (to !== at) {
      this.moving = true; // the browser takes a moved node's focus away
      this.run.insertBefore(cell, to > at ? cells[to].nextSibling : cells[to]);
      ball.focus();
      this.moving = false;
    }
    const yarns = this.model.get("yarns");
    const name = (one) => one && yarns[Number(one.querySelector(".ball").dataset.yarn)].name;
    const now = [...this.run.querySelectorAll(".cell")];
    const beside = [name(now[to - 1]), name(now[to + 1])];
    this.say(
      `Place ${to + 1} of ${now.length}: ` +
        (beside[0] && beside[1]
          ? `between ${beside[0]} and ${beside[1]}.`
          : beside[0] ? `after ${beside[0]}.` : `before ${beside[1]}.`),
    );
  }

  putDown() {
    const { cell, ball, fromRun, home } = this.held;
    const next = cell.nextSibling;
    const same = fromRun && next === home;
    this.held = null;
    ball.classList.remove("held");
    if (!fromRun) cell.remove();
    if (same) {
      this.say("Put down where it was.");
      this.draw();
      return;
    }
    const before = next?.querySelector?.(".ball");
    const yarn = Number(ball.dataset.yarn);
    this.focused = yarn;
    this.wanted = yarn;
    this.tell("move", { yarn, before: before ? Number(before.dataset.yarn) : -1 });
  }

  putBack(words) {
    if (!this.held) return;
    const { cell, ball, fromRun, home } = this.held;
    this.held = null;
    ball.classList.remove("held");
    if (fromRun) {
      this.moving = true;
      this.run.insertBefore(cell, home);
      ball.focus();
      this.moving = false;
    } else {
      cell.remove();
      this.ball(Number(ball.dataset.yarn))?.focus();
    }
    this.say(words);
    this.draw();
  }

  left(event) {
    if (!this.held || this.moving || event.target !== this.held.ball) return;
    if (event.relatedTarget === this.held.ball || !document.hasFocus()) return;
    const to = event.relatedTarget;
    this.putBack("Left before it was put down: nothing moved.");
    to?.focus?.();
  }

  // --- the pointer ---

  pressed(event) {
    const ball = event.target.closest?.(".ball");
    if (!ball || event.button !== 0 || this.held || this.drag) return;
    ball.setPointerCapture(event.pointerId);
    ball.focus({ preventScroll: true });
    this.drag = {
      ball, id: event.pointerId, x: event.clientX, y: event.clientY, moved: false, scrolled: 0,
    };
  }

  dragged(event) {
    const { drag } = this;
    if (!drag || event.pointerId !== drag.id) return;
    const [dx, dy] = [event.clientX - drag.x, event.clientY - drag.y];
    if (!drag.moved && Math.hypot(dx, dy) < DRAG_PX) return;
    if (!drag.moved) {
      drag.moved = true;
      drag.ball.classList.add("dragged");
    }
    event.preventDefault();
    drag.scrolled += this.scroll(event.clientY);
    drag.ball.style.transform = `translate(${dx}px, ${dy + drag.scrolled}px)`;
    this.aim(event.clientX, event.clientY);
  }

  // Near the upper or lower rim the page moves along, by the px that are returned.
  scroll(y) {
    const page = scroller(this.el);
    if (!page) return 0;
    const box = page.getBoundingClientRect();
    const by = y < box.top + RIM_PX ? -RIM_PX / 2 : y > box.bottom - RIM_PX ? RIM_PX / 2 : 0;
    const before = page.scrollTop;
    if (by) page.scrollTop += by;
    return page.scrollTop - before;
  }

  // Where a ball let go here would land: before a cell, at the end, aside, or nowhere.
  aim(x, y) {
    const { drag } = this;
    const within = (box) =>
      x > box.left - 8 && x < box.right + 8 && y > box.top - 8 && y < box.bottom + 8;
    const aside = within(this.tray.getBoundingClientRect());
    const onRun = within(this.run.getBoundingClientRect());
    drag.target = onRun ? this.nearest(x, y) : aside && drag.ball.dataset.where === "run"
      ? "aside" : null;
    this.tray.classList.toggle("target", drag.target === "aside");
    this.caret.hidden = !onRun;
    if (onRun) this.showCaret(drag.target);
  }

  nearest(x, y) {
    const cells = [...this.run.querySelectorAll(".cell")];
    const boxes = cells.map((cell) => cell.getBoundingClientRect());
    const far = boxes.map((box) => Math.max(box.top - y, y - box.bottom, 0));
    const least = Math.min(...far);
    const row = cells.filter((_, k) => far[k] === least);
    const after = row.find((cell) => {
      const box = cell.querySelector(".ball").getBoundingClientRect();
      const own = cell.contains(this.drag.ball) ? this.offset() : 0;
      return x < box.left - own + box.width / 2;
    });
    return { before: after ?? row.at(-1).nextElementSibling, row };
  }

  offset() {
    const moved = new DOMMatrix(getComputedStyle(this.drag.ball).transform);
    return moved.m41;
  }

  showCaret({ before, row }) {
    const base = this.run.getBoundingClientRect();
    const cell = row.includes(before) ? before : row.at(-1);
    const box = cell.getBoundingClientRect();
    const left = cell === before ? box.left : box.right;
    this.caret.style.left = `${Math.max(left - base.left - 6, 0)}px`;
    this.caret.style.top = `${box.top - base.top}px`;
  }

  dropped(event) {
    const { drag } = this;
    if (!drag || event.pointerId !== drag.id) return;
    if (drag.moved) this.aim(event.clientX, event.clientY);
    this.endDrag();
    const yarn = Number(drag.ball.dataset.yarn);
    if (!drag.moved) {
      this.draw();
    } else if (drag.target === null) {
      this.say("Let go outside the run: nothing moved.");
      this.draw();
    } else if (drag.target === "aside") {
      this.tell("out", { yarn });
    } else {
      const { before } = drag.target;
      const ball = before?.querySelector?.(".ball");
      this.tell("move", { yarn, before: ball ? Number(ball.dataset.yarn) : -1 });
    }
  }

  endDrag() {
    const { ball, id } = this.drag;
    this.drag = null;
    ball.classList.remove("dragged");
    ball.style.transform = "";
    if (ball.hasPointerCapture(id)) ball.releasePointerCapture(id);
    this.caret.hidden = true;
    this.tray.classList.remove("target");
  }

  cancelDrag() {
    if (!this.drag) return;
    const { moved } = this.drag;
    this.endDrag();
    if (moved) this.say("Put back: nothing moved.");
    this.draw();
  }
}

export default {
  render({ model, el }) {
    const view = new View(model, el);
    let due = false;
    // What belongs together comes in one message: it is drawn once.
    function changed() {
      if (due) return;
      due = true;
      queueMicrotask(() => {
        due = false;
        view.answered();
        view.draw();
      });
    }
    const traits = [
      "edition", "yarns", "run", "steps", "tray", "numbers", "sentences", "busy",
      "can_undo", "can_redo", "by_hand", "answer", "greys", "families",
    ];
    const events = traits.map((name) => `change:${name}`).join(" ");
    model.on(events, changed);
    view.draw();
    return () => model.off(events, changed);
  },
};
