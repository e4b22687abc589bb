/* ---- what a reader sees and does ---- */

const LANGUAGES = { fr: "French", de: "German", nl: "Dutch", da: "Danish", it: "Italian" };

/* An element; `told` are properties, or attributes where the name has a hyphen or is a role. */
function make(tag, told = {}, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(told)) {
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name.includes("-") || name === "role" || name === "for") element.setAttribute(name, value);
    else element[name] = value;
  }
  element.append(...inside.filter((one) => one !== null));
  return element;
}

function counted(patterns) {
  return `${patterns} ${patterns === 1 ? "pattern" : "patterns"}`;
}

const MOST_OFFERS = 6;
const PAGE_SIZE = 24;
const AT_ONCE = 6;

class SearchPage {
  constructor(searcher, place) {
    this.searcher = searcher;
    this.place = place;
    this.state = readState();
    this.controls = [];
    this.asked = 0;
    this.build();
    window.addEventListener("hashchange", () => {
      if (location.hash.slice(1) !== this.fragment) {
        this.fragment = location.hash.slice(1);
        this.state = readState();
        this.show();
      }
    });
  }

  /* Change the state. A step that Back should undo makes a new entry in the history. */
  change(changes, { step = true } = {}) {
    Object.assign(this.state, changes);
    this.fragment = fragmentOf(this.state);
    if (step) location.hash = this.fragment;
    else location.replace(`#${this.fragment}`);
    return this.show();
  }

  build() {
    this.box = make("input", {
      type: "search",
      id: "asked",
      autocomplete: "off",
      spellcheck: false,
      oninput: () => this.change({ q: this.box.value }, { step: false }),
    });
    this.form = make(
      "form",
      { className: "asked", role: "search", onsubmit: (event) => { event.preventDefault(); this.submit(); } },
      make("label", { for: "asked" }, "Words in any language: a technique, a title, a shelfmark, “up to 20 pairs”, “no gimp”"),
      this.box,
      make("button", { type: "submit" }, "Search"),
    );
    this.past = make(
      "button",
      { type: "button", className: "skip", onclick: () => (this.list.querySelector("a") || this.box).focus() },
      "Skip the filters",
    );
    this.offered = make("p", { className: "offered" });
    this.remarks = make("div", { className: "means" });
    this.active = make("ul", { className: "active", "aria-label": "Filters in force" });
    this.count = make("h2", { id: "results", tabIndex: -1 });
    /* Where the results lie below the filters: leads there, and tells how many there are. */
    this.done = make("button", { type: "button", className: "done", onclick: () => this.toResults() });
    this.status = make("p", { className: "unseen", role: "status" });
    this.sorting = make(
      "select",
      { id: "sorting", onchange: () => this.change({ sort: this.sorting.value }) },
      ...Object.entries(SORTS).map(([key, { words }]) => make("option", { value: key }, words)),
    );
    this.list = make("ul", { className: "cards" });
    this.nothing = make("div", { className: "nothing" });
    this.more = make("button", { type: "button", className: "more", onclick: () => this.showMore() }, "Show more");
    this.part = make("p", { className: "note part" });
    const wide = matchMedia("(min-width: 56rem)").matches;
    this.panel = make("details", { className: "filters", open: wide }, make("summary", {}, "Filters"));
    this.place.append(
      this.form,
      this.offered,
      this.past,
      this.remarks,
      make(
        "div",
        { className: "body" },
        this.panel,
        make(
          "section",
          { "aria-labelledby": "results" },
          make("div", { className: "told" }, this.count, make("span", { className: "sorting" }, make("label", { for: "sorting" }, "Sort by"), this.sorting)),
          this.status,
          this.active,
          this.nothing,
          this.list,
          this.part,
          this.more,
        ),
      ),
    );
  }

  filters() {
    const panel = make("div");
    for (const { id, values } of this.searcher.root.facets) {
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
          const others = this.state[facet].filter((one) => one !== id);
          this.change({ [facet]: tick.checked ? [...others, id] : others });
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
      onchange: () => this.change({ any: mode.value === "any" }),
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
            this.change({
              with: [...this.state.with.filter((one) => one !== id), ...(value === "with" ? [id] : [])],
              not: [...this.state.not.filter((one) => one !== id), ...(value === "not" ? [id] : [])],
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
          const both = [...this.state[key]];
          both[at] = inputs[at].value === "" ? null : Math.max(0, Number(inputs[at].value));
          this.change({ [key]: both });
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
      const same = Object.keys(own).every((key) => own[key] === this.state.own[key]);
      if (own.count && own.system && !same) this.change({ own });
    };
    const count = make("input", { type: "number", id: "own-count", min: 0, step: "any", onchange: told });
    const plies = make("input", { type: "number", id: "own-plies", min: 1, step: 1, onchange: told });
    const systems = this.searcher.root.threads.systems;
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

  async show() {
    const turn = ++this.asked;
    this.panel.setAttribute("aria-busy", "true");
    try {
      const answer = await this.searcher.answer(this.state);
      const offer = await this.searcher.offer(this.state);
      if (turn !== this.asked) return;
      this.offer = offer && (offer.total || !answer.total) ? offer : null;
      await this.showAnswer(answer);
      const counts = await this.searcher.counts(answer);
      if (turn !== this.asked) return;
      this.controls.forEach((follow) => follow(this.state, counts));
      this.panel.removeAttribute("aria-busy");
    } catch (fault) {
      tellMissing(this.place, fault);
    }
  }

  async showAnswer(answer) {
    const { state, offer } = this;
    if (this.box.value !== state.q) this.box.value = state.q;
    this.sorting.value = state.sort;
    const none = offer ? "No pattern has these words" : answer.conditions.length > 1 ? "No pattern fits all of this" : "No pattern fits";
    const told = answer.total ? counted(answer.total) : none;
    this.count.textContent = told;
    this.status.textContent = [answer.total ? `${told} found` : told, ...(offer ? [this.offerWords()] : [])].join(". ");
    this.offered.replaceChildren(...(offer ? this.offerShown() : []));
    this.done.textContent = answer.total ? `Show ${told}` : told;
    const plain = answer.remarks.filter(({ typed }) => !offer || !offer.taken.includes(typed));
    this.remarks.replaceChildren(...plain.map((remark) => this.remark(remark)).filter(Boolean));
    this.active.replaceChildren(
      ...answer.restrictions.map((one) =>
        make("li", {}, make("button", { type: "button", title: "Take this filter away", onclick: () => this.drop([one]) }, `${one.words} ×`)),
      ),
    );
    this.active.hidden = !answer.restrictions.length;
    this.panel.hidden = !this.searcher.total;
    this.nothing.replaceChildren(...(answer.total || (offer && offer.total) ? [] : this.loosening(answer)));
    this.answer = answer;
    this.shown = 0;
    this.list.replaceChildren();
    // The first few stand there before the parts with the others have come.
    await this.showCards(AT_ONCE);
    if (!this.controls.length) this.panel.append(this.filters(), this.done);
    this.controls.forEach((follow) => follow(state));
    await this.showCards(PAGE_SIZE - AT_ONCE);
    await this.comeBack();
  }

  /* Remember where a reader leaves to a pattern, in the history's entry for this state. */
  leave(link) {
    const place = { shown: this.shown, top: window.scrollY, href: link.getAttribute("href") };
    history.replaceState(place, "");
  }

  /* Stand again where a reader who comes back left, however many results that needs. */
  async comeBack() {
    const left = history.state;
    if (!left) return;
    await this.showCards(Math.max(0, left.shown - this.shown));
    const links = [...this.list.querySelectorAll("a")];
    const link = links.find((one) => one.getAttribute("href") === left.href);
    if (link) link.focus({ preventScroll: true });
    window.scrollTo(0, left.top);
  }

  /* Show `more` further results; returns the first of them. */
  async showCards(more) {
    const answer = this.answer;
    const ranked = await this.searcher.ranked(answer, this.shown + more);
    const records = await Promise.all(ranked.slice(this.shown).map((number) => this.searcher.record(number)));
    if (answer !== this.answer) return null;
    const cards = records.map((record) => this.card(record));
    this.list.append(...cards);
    this.shown += cards.length;
    this.more.hidden = this.shown >= answer.total;
    this.part.textContent = this.more.hidden ? "" : `The first ${this.shown} of ${counted(answer.total)}.`;
    return cards[0];
  }

  async showMore() {
    try {
      const first = await this.showCards(PAGE_SIZE);
      if (first) first.querySelector("a").focus();
    } catch (fault) {
      tellMissing(this.place, fault);
    }
  }

  toResults() {
    this.panel.open = false;
    this.count.focus();
    this.count.scrollIntoView();
  }

  /* Whoever asks for what no pattern has in words, but some by filter, gets those. */
  async submit() {
    await this.change({ q: this.box.value });
    if (this.offer && this.offer.total && !this.answer.total) this.takeOffer();
  }

  offerWords() {
    const { words, total } = this.offer;
    return `By filter: ${words} – ${total ? counted(total) : "no pattern"}`;
  }

  /* A button where it leads to patterns, else the plain words. */
  offerShown() {
    const words = this.offerWords();
    return [this.offer.total ? make("button", { type: "button", onclick: () => this.takeOffer() }, words) : words];
  }

  /* Filter by what was typed. */
  takeOffer() {
    this.change(this.offer.changes);
    this.count.focus();
  }

  /* Take filters and words away. */
  drop(these) {
    const changes = {};
    for (const { key, value } of these) {
      if (key === "q") changes.q = this.typedBut(these);
      else if (key === "own") changes.own = OWN;
      else if (value) changes[key] = (changes[key] || this.state[key]).filter((id) => id !== value);
      else changes[key] = key in RANGES ? [null, null] : [];
    }
    this.change(changes);
    this.count.focus();
  }

  /* What was typed without some of its words; a space behind a word says that it is whole. */
  typedBut(these) {
    const left = this.answer.segments.filter((one) => !these.includes(one));
    const typing = left.length && left[left.length - 1].typing;
    return left.map(({ words }) => words).join(" ") + (left.length && !typing ? " " : "");
  }

  remark({ typed, instead, names }) {
    if (names) {
      const meant = new Map();
      const same = new Map();
      for (const { facet, value, language, name } of names) {
        const [, label, , page] = this.searcher.facets.get(facet)[value];
        const words = page ? make("a", { href: page }, label) : label;
        if (wordsOf(label).join(" ") !== wordsOf(name).join(" ")) {
          const how = language === "en" ? "another word for " : `${LANGUAGES[language]} for `;
          meant.set(`${facet}${value}`, [how, words]);
        } else if (page) same.set(value, [words]);
      }
      const told = meant.size ? meant : same;
      if (!told.size) return null;
      const parts = [...told.values()].flatMap((words, at) => (at ? [", or ", ...words] : words));
      return make("p", {}, meant.size ? `“${typed}” is ` : "What is it? See ", ...parts, ".");
    }
    if (!instead.length) return make("p", {}, `No pattern has the word “${typed}”.`);
    const meant = instead.slice(0, 5);
    const offers = meant.flatMap((words, at) => [
      at ? " or " : "",
      make("button", { type: "button", className: "word", onclick: () => this.take(words, typed) }, words),
    ]);
    const shown = `${meant.length > 1 ? "Their" : "Its"} patterns are shown.`;
    return make("p", {}, `No pattern has “${typed}”. Did you mean `, ...offers, `? ${shown}`);
  }

  /* Write other words in the place of one that was typed. */
  take(words, typed) {
    this.change({ q: wordsOf(this.state.q).map((word) => (word === typed ? words : word)).join(" ") });
    this.count.focus();
  }

  loosening(answer) {
    if (!this.searcher.total) return [make("p", {}, "The collection has no patterns yet.")];
    const link = (href, words) => make("a", { href }, words);
    const offers = answer.loosen.map(({ these, hits }) => {
      const kept = answer.conditions.filter((one) => !these.includes(one));
      const alone = these.length > 1 && kept.length === 1;
      const named = (alone ? kept : these).map((one) => `“${one.words}”`).join(" and ");
      const words = `${alone ? "Keep only" : "Take away"} ${named}`;
      const button = { type: "button", onclick: () => this.drop(these) };
      return make("li", {}, make("button", button, `${words}: ${counted(hits)}`));
    });
    return [
      make("ul", { className: "plain" }, ...offers),
      make(
        "p", {}, "Or look through the ", link("techniques.html", "techniques"), ", the ", link("families.html", "families"),
        " or the ", link("shelf.html", "shelf list"), ".",
      ),
      make("button", { type: "button", onclick: () => this.clear() }, "Start again"),
    ];
  }

  clear() {
    const empty = { q: "", any: false, with: [], not: [], own: OWN };
    LISTS.forEach((key) => (empty[key] = []));
    Object.keys(RANGES).forEach((key) => (empty[key] = [null, null]));
    this.change(empty);
    this.box.focus();
  }

  card([path, shelfmark, title, kind, families, pairs, level, width, picture, standIn, corrected, techniques]) {
    const words = { lang: this.place.dataset.language, dir: "auto" };
    return make(
      "li",
      { className: "card" },
      make(
        "a",
        { href: `patterns/${path}.html`, onclick: (event) => this.leave(event.currentTarget) },
        make(
          "span",
          { className: "thumb" },
          make("img", { src: `pictures/${picture}`, alt: "", width: 480, height: 360, loading: "lazy", decoding: "async" }),
          standIn ? make("span", { className: "label" }, "no picture") : null,
        ),
        make("h3", words, title),
      ),
      make("p", { className: "mark" }, shelfmark, corrected ? make("strong", { className: "corrected" }, " corrected") : null),
      make("p", {}, [families, kind].filter(Boolean).join(", ")),
      make("p", {}, [pairs, width].filter(Boolean).join(", ")),
      this.level(level),
      techniques.length ? make("p", { className: "note techniques" }, techniques.join(", ")) : null,
    );
  }

  level(level) {
    const values = this.searcher.facets.get("level") || [];
    const name = (values.find((value) => value[0] === String(level)) || ["", ""])[1];
    const pins = make("span", { className: "pins", "aria-hidden": "true" });
    for (let pin = 1; pin <= 5; pin++) pins.append(make("i", { className: pin <= level ? "on" : "" }));
    return make("p", {}, make("span", { className: "level" }, level ? pins : null, name));
  }
}

/* Say which file is missing and show the lists instead; any other fault is a bug. */
function tellMissing(place, fault) {
  if (!(fault instanceof MissingPart)) throw fault;
  place.replaceChildren(
    make("p", { role: "alert" }, `The search cannot go on: the file “${fault.message}” is missing. Copy the whole folder again; until then the lists below lead to every pattern.`),
  );
  place.hidden = false;
  document.getElementById("browse").hidden = false;
}

window.addEventListener("DOMContentLoaded", async () => {
  const place = document.getElementById("search");
  try {
    const page = new SearchPage(new Searcher(await index.need("root")), place);
    place.hidden = false;
    document.getElementById("browse").hidden = true;
    await page.show();
  } catch (fault) {
    tellMissing(place, fault);
  }
});
