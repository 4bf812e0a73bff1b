// The list beside the photo: a swatch, a name, what was found.

class Names extends Sheet {
  newRow(id) {
    const row = made("li");
    row.tag = made("span", "tag");
    row.strip = made("span", "strip");
    row.input = focusable(made("input"));
    row.input.type = "text";
    row.input.setAttribute("list", this.offered.id);
    row.input.placeholder = "name it";
    row.input.maxLength = 200;
    row.said = made("span", "said");
    const remove = button("×", () => this.remove(id));
    row.removing = remove;
    row.addEventListener("pointerdown", () => this.choose(id));
    row.input.addEventListener("focus", () => { this.choose(id); this.reveal(id); });
    row.input.addEventListener("change", () => this.rename(id, row.input.value));
    row.input.addEventListener("keydown", (event) => this.nameKey(event, id));
    row.append(row.tag, row.strip, row.input, remove, row.said);
    this.list.append(row);
    return row;
  }

  drawRow(region, label) {
    const row = this.rows.get(region.id), found = this.model.get("found")[region.id];
    row.tag.textContent = label;
    row.input.hidden = Boolean(region.role);
    row.input.setAttribute("aria-label", `Name of region ${label}`);
    row.removing.setAttribute("aria-label", `Remove ${region.role || `region ${label}`}`);
    if (document.activeElement !== row.input) row.input.value = region.name;
    row.strip.replaceChildren(...(found?.runs ?? []).map(([colour, share]) => {
      const run = made("span");
      run.style.background = colour;
      run.style.flexGrow = share;
      return run;
    }));
    const said = found?.wrong || found?.words || "…";
    row.said.textContent = said.replace(/± /g, "±\u00a0"); // kept on one line
    row.classList.toggle("wrong", Boolean(found?.wrong));
    const chosen = region.id === this.chosen;
    if (chosen && !row.classList.contains("chosen")) this.bringUp(row);
    row.classList.toggle("chosen", chosen);
  }

  bringUp(row) {
    const { list } = this, top = row.offsetTop - list.offsetTop;
    if (top < list.scrollTop) list.scrollTop = top;
    const below = top + row.offsetHeight - list.clientHeight;
    if (below > list.scrollTop) list.scrollTop = below;
  }

  rename(id, name) {
    if (this.regions.one(id)?.name === name) return;
    this.regions.remember();
    this.regions.change(id, { name });
  }

  nameKey(event, id) {
    if (event.key === "Escape") this.nodes.get(id).focus({ preventScroll: true });
    if (event.key !== "Enter" || event.isComposing) return;
    event.preventDefault();
    this.rename(id, event.target.value);
    const yarns = this.regions.all.filter(({ role }) => !role);
    const at = yarns.findIndex((region) => region.id === id);
    const onward = [...yarns.slice(at + 1), ...yarns.slice(0, at)];
    const next = onward.find(({ name }) => !name);
    if (next) this.toName(next.id);
    else this.hint.textContent = "Every region has a name.";
  }

  toName(id) {
    const row = this.rows.get(id);
    if (row.input.hidden) return;
    row.input.focus();
    row.input.select();
  }
}
