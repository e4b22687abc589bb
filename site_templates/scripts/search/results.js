/* ---- the results: a card for each, more when asked for ---- */

const PAGE_SIZE = 24;
/* A row of them, on most screens. */
const AT_ONCE = 4;

class Results {
  constructor(searcher, place) {
    this.searcher = searcher;
    this.place = place;
    this.list = make("ul", { className: "cards" });
    this.part = make("p", { className: "note part" });
    this.more = make("button", { type: "button", className: "more", onclick: () => this.showMore() }, "Show more");
  }

  /* Show the first few of an answer. */
  async begin(answer) {
    this.answer = answer;
    this.shown = 0;
    this.list.replaceChildren();
    await this.showCards(AT_ONCE);
  }

  /* Show the others of the first page, and where a reader comes back, all up to there. */
  async fill() {
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
    const values = this.searcher.facets.values.get("level") || [];
    const name = (values.find((value) => value[0] === String(level)) || ["", ""])[1];
    const pins = make("span", { className: "pins", "aria-hidden": "true" });
    for (let pin = 1; pin <= 5; pin++) pins.append(make("i", { className: pin <= level ? "on" : "" }));
    return make("p", {}, make("span", { className: "level" }, level ? pins : null, name));
  }
}
