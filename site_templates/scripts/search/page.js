/* ---- the page: what a reader sees and does ---- */

class SearchPage {
  /* `standing` tells when the place stands on the page. */
  constructor(searcher, place, standing) {
    this.searcher = searcher;
    this.place = place;
    this.standing = standing;
    this.state = readState();
    this.asked = 0;
    this.offers = [];
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
      { type: "button", className: "skip", onclick: () => (this.results.list.querySelector("a") || this.box).focus() },
      "Skip the filters",
    );
    this.offered = make("p", { className: "offered" });
    this.remarks = make("div", { className: "means" });
    this.active = make("ul", { className: "active", "aria-label": "Filters in force" });
    this.count = make("h2", { id: "results", tabIndex: -1 });
    this.status = make("p", { className: "unseen", role: "status" });
    this.sorting = make(
      "select",
      { id: "sorting", onchange: () => this.change({ sort: this.sorting.value }) },
      ...Object.entries(SORTS).map(([key, { words }]) => make("option", { value: key }, words)),
    );
    this.nothing = make("div", { className: "nothing" });
    this.panel = new FilterPanel(this);
    this.results = new Results(this.searcher, this.place);
    this.place.append(
      this.form,
      this.offered,
      this.past,
      this.remarks,
      make(
        "div",
        { className: "body" },
        this.panel.place,
        make(
          "section",
          { "aria-labelledby": "results" },
          make("div", { className: "told" }, this.count, make("span", { className: "sorting" }, make("label", { for: "sorting" }, "Sort by"), this.sorting)),
          this.status,
          this.active,
          this.nothing,
          this.results.list,
          this.results.part,
          this.results.more,
        ),
      ),
    );
  }

  async show() {
    const turn = ++this.asked;
    this.panel.place.setAttribute("aria-busy", "true");
    try {
      const answer = await this.searcher.answer(this.state);
      if (turn !== this.asked) return;
      // The first few stand there before it is known what the words may mean, and before the others.
      await Promise.all([this.results.begin(answer), this.standing]);
      if (turn !== this.asked) return;
      const offers = await this.searcher.offers(this.state);
      if (turn !== this.asked) return;
      this.offers = offers.filter(({ total }) => total || !answer.total);
      await this.showAnswer(answer);
      const counts = await this.searcher.counts(answer);
      if (turn !== this.asked) return;
      this.panel.follow(this.state, counts);
      this.panel.place.removeAttribute("aria-busy");
    } catch (fault) {
      tellMissing(this.place, fault);
    }
  }

  async showAnswer(answer) {
    const { state, offers } = this;
    if (this.box.value !== state.q) this.box.value = state.q;
    this.sorting.value = state.sort;
    this.answer = answer;
    const none = offers.length ? "No pattern has these words" : answer.conditions.length > 1 ? "No pattern fits all of this" : "No pattern fits";
    const told = answer.total ? counted(answer.total) : none;
    this.count.textContent = told;
    const said = [answer.total ? `${told} found` : told, ...offers.map(offerWords)];
    this.status.textContent = [...said, ...(this.meansFilters ? [asFilters(this)] : [])].join(". ");
    this.offered.replaceChildren(...offers.map((offer) => offerShown(this, offer)));
    this.panel.done.textContent = answer.total ? `Show ${told}` : told;
    const plain = answer.remarks.filter(({ typed }) => !offers.some(({ taken }) => taken.includes(typed)));
    this.remarks.replaceChildren(...plain.map((remark) => remarkShown(this, remark)).filter(Boolean));
    this.active.replaceChildren(
      ...answer.restrictions.map((one) =>
        make("li", {}, make("button", { type: "button", title: "Take this filter away", onclick: () => this.drop([one]) }, `${one.words} ×`)),
      ),
    );
    this.active.hidden = !answer.restrictions.length;
    this.panel.place.hidden = !this.searcher.total;
    const advice = this.meansFilters ? [make("p", {}, asFilters(this))] : loosening(this, answer);
    this.nothing.replaceChildren(...(answer.total ? [] : advice));
    this.panel.follow(state);
    await this.results.fill();
  }

  toResults() {
    this.panel.place.open = false;
    this.count.focus();
    this.count.scrollIntoView();
  }

  /* Whether the words find nothing, but some patterns fit the filters that they mean. */
  get meansFilters() {
    return this.offers.some(({ total }) => total) && !this.answer.total;
  }

  /* Whoever asks for what no pattern has in words, but some by filter, gets those. Of several
     filters one is to be chosen. */
  async submit() {
    await this.change({ q: this.box.value });
    if (this.meansFilters && this.offers.length === 1) this.takeOffer(this.offers[0]);
  }

  /* Filter by what was typed. */
  takeOffer(offer) {
    this.change(offer.changes);
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

  /* Write other words in the place of one that was typed. */
  take(words, typed) {
    this.change({ q: wordsOf(this.state.q).map((word) => (word === typed ? words : word)).join(" ") });
    this.count.focus();
  }

  clear() {
    const empty = { q: "", any: false, with: [], not: [], own: OWN };
    LISTS.forEach((key) => (empty[key] = []));
    Object.keys(RANGES).forEach((key) => (empty[key] = [null, null]));
    this.change(empty);
    this.box.focus();
  }
}

/* Say which file is missing and show the lists instead; any other fault is a bug. */
function tellMissing(place, fault) {
  if (!(fault instanceof MissingPart)) throw fault;
  place.replaceChildren(
    make("p", { role: "alert" }, `The search cannot go on: the file “${fault.message}” is missing. Copy the whole folder again; until then the lists below lead to every pattern.`),
  );
  document.documentElement.classList.remove("searched");
}

/* The search stands in the place of the lists. It begins while the page is still read. */
(async () => {
  const { language } = document.currentScript.dataset;
  const place = make("div", { id: "search", className: "search", "data-language": language });
  const standing = new Promise((done) => window.addEventListener("DOMContentLoaded", done)).then(() =>
    document.getElementById("browse").before(place),
  );
  document.documentElement.classList.add("searched");
  try {
    await new SearchPage(new Searcher(await index.root), place, standing).show();
  } catch (fault) {
    tellMissing(place, fault);
  }
})();
