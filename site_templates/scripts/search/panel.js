/* ---- the panel of filters: controls that follow the state and change it ---- */

class FilterPanel {
  constructor(page) {
    this.page = page;
    this.controls = [];
    const wide = matchMedia("(min-width: 56rem)").matches;
    this.place = make("details", { className: "filters", open: wide }, make("summary", {}, "Filters"));
    /* Where the results lie below the filters: leads there, and tells how many there are. */
    this.done = make("button", { type: "button", className: "done", onclick: () => page.toResults() });
  }

  /* Show a state in every control, with the counts of each value where they are known already. */
  follow(state, counts) {
    if (!this.controls.length) this.place.append(this.filters(), this.done);
    this.controls.forEach((control) => control(state, counts));
  }

  filters() {
    const panel = make("div");
    for (const { id, values } of this.page.searcher.root.facets) {
      const inside = id === "technique" ? this.techniques(values) : this.choices(id, values);
      panel.append(this.group(TITLES[id], inside, id === "technique" || id === "level"));
      if (id === "technique") {
        for (const [key, range] of Object.entries(RANGES)) {
          const inside = key === "wraps" ? [this.range(key, range), this.ownThread()] : [this.range(key, range)];
          panel.append(this.group(range.title, inside, key === "pairs"));
        }
      }
    }
    return panel;
  }

  group(title, inside, open) {
    return make(
      "details",
      { open },
      make("summary", {}, title),
      make("fieldset", {}, make("legend", { className: "unseen" }, title), ...[inside].flat()),
    );
  }

  /* Values as a list, narrower ones under the broader. */
  nested(values, row) {
    const lists = new Map([[-1, make("ul")]]);
    const rows = values.map((value, place) => make("li", {}, row(value, place)));
    values.forEach((value, place) => {
      const above = value[2];
      if (!lists.has(above)) {
        lists.set(above, make("ul"));
        rows[above].append(lists.get(above));
      }
      lists.get(above).append(rows[place]);
    });
    return lists.get(-1);
  }

  choices(facet, values) {
    return this.nested(values, ([id, name], place) => {
      const tick = make("input", {
        type: "checkbox",
        onchange: () => {
          const others = this.page.state[facet].filter((one) => one !== id);
          this.page.change({ [facet]: tick.checked ? [...others, id] : others });
        },
      });
      const count = make("span", { className: "count" });
      const label = make("label", { className: "choice" }, tick, name, count);
      this.controls.push((state, counts) => {
        tick.checked = state[facet].includes(id);
        if (!counts) return;
        count.textContent = counts[facet][place];
        label.classList.toggle("none", !counts[facet][place] && !tick.checked);
      });
      return label;
    });
  }

  techniques(values) {
    const mode = make("select", {
      id: "mode",
      onchange: () => this.page.change({ any: mode.value === "any" }),
    }, make("option", { value: "all" }, "all of them"), make("option", { value: "any" }, "any of them"));
    this.controls.push((state) => (mode.value = state.any ? "any" : "all"));
    const list = this.nested(values, ([id, name], place) => {
      const radios = [["", "–", "either way"], ["with", "with", "with"], ["not", "not", "without"]].map(([value, short, said]) =>
        make("input", {
          type: "radio",
          name: `technique-${id}`,
          value,
          "aria-label": `${said}`,
          onchange: () =>
            this.page.change({
              with: [...this.page.state.with.filter((one) => one !== id), ...(value === "with" ? [id] : [])],
              not: [...this.page.state.not.filter((one) => one !== id), ...(value === "not" ? [id] : [])],
            }),
        }, short),
      );
      const labels = ["–", "with", "not"].map((short, at) => make("label", {}, radios[at], short));
      const count = make("span", { className: "count" });
      const row = make(
        "div",
        { className: "both choice", role: "radiogroup", "aria-label": name },
        make("span", {}, name),
        count,
        make("span", { className: "toggles" }, ...labels),
      );
      this.controls.push((state, counts) => {
        const chosen = state.with.includes(id) ? "with" : state.not.includes(id) ? "not" : "";
        radios.forEach((radio) => (radio.checked = radio.value === chosen));
        if (!counts) return;
        count.textContent = counts.technique[place];
        row.classList.toggle("none", !counts.technique[place] && !chosen);
      });
      return row;
    });
    return make(
      "div",
      {},
      make("p", { className: "choice" }, make("label", { for: "mode" }, "Those marked “with”:"), mode),
      make("div", { className: "scroll" }, list),
    );
  }

  range(key, { title, unit, tenths }) {
    const inputs = ["from", "to"].map((side, at) =>
      make("input", {
        type: "number",
        min: 0,
        step: tenths === 1 ? 1 : 0.5,
        "aria-label": `${title} ${side}, ${unit}`,
        onchange: () => {
          const both = [...this.page.state[key]];
          both[at] = inputs[at].value === "" ? null : Math.max(0, Number(inputs[at].value));
          this.page.change({ [key]: both });
        },
      }),
    );
    this.controls.push((state) => inputs.forEach((input, at) => (input.value = state[key][at] ?? "")));
    return make("div", { className: "range" }, inputs[0], "to", inputs[1], unit);
  }

  /* A thread the reader has, by its number: which patterns may suit it. */
  ownThread() {
    const told = () => {
      const own = { count: Number(count.value) || null, plies: Number(plies.value) || 1, system: system.value };
      const same = Object.keys(own).every((key) => own[key] === this.page.state.own[key]);
      if (own.count && own.system && !same) this.page.change({ own });
    };
    const count = make("input", { type: "number", id: "own-count", min: 0, step: "any", onchange: told });
    const plies = make("input", { type: "number", id: "own-plies", min: 1, step: 1, onchange: told });
    const systems = this.page.searcher.root.threads.systems;
    const system = make(
      "select",
      { id: "own-system", onchange: told },
      make("option", { value: "" }, "choose"),
      ...systems.map(([id, name]) => make("option", { value: id }, name === id ? id : `${name} (${id})`)),
    );
    this.controls.push(({ own }) => {
      count.value = own.count || "";
      plies.value = own.plies || "";
      system.value = own.system;
    });
    const field = (words, control) => make("label", { for: control.id }, words, control);
    return make(
      "div",
      { className: "own", role: "group", "aria-label": "A thread you have" },
      make("p", {}, "Or a thread you have, by the number on its label:"),
      make("div", { className: "two" }, field("Number", count), field("Plies", plies)),
      field("Numbered in", system),
      make("p", { className: "note" }, "Its wraps are estimated from the number, within 15 %. Winding it on a ruler tells more."),
    );
  }
}
