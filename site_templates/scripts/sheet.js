/* Zoom, pan and layers over a sheet. Without this script the sheet is shown whole. */
"use strict";

const CLOSEST = 24;
const STEP = 1.5;
/* A strip that would fill less of its frame than this is first shown by one end, filling half. */
const SLENDER = 1 / 3;

/* How each layer looks, in a square of 20. */
const SAMPLES = {
  holes: "M5 6h0M15 6h0M10 13h0",
  ground: "M3 3L17 17M17 3L3 17",
  honeycomb: "M10 2L17 10L10 18L3 10z",
  open: "M10 2L17 10L10 18L3 10z",
  doubts: "M4 10a6 6 0 1 0 12 0a6 6 0 1 0 -12 0z",
};

function sampleOf(name) {
  const drawn = (tag, told) => {
    const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
    Object.entries(told).forEach(([key, value]) => element.setAttribute(key, value));
    return element;
  };
  const sample = drawn("svg", { class: "sample", viewBox: "0 0 20 20", "aria-hidden": "true" });
  sample.append(drawn("path", { class: name, d: SAMPLES[name], "stroke-width": name === "holes" ? 5 : 2 }));
  return sample;
}

class Sheet {
  constructor(figure) {
    this.view = figure.querySelector("svg.view");
    const { x, y, width, height } = this.view.viewBox.baseVal;
    const box = { x, y, width, height };
    this.whole = { ...box };
    this.shape();
    this.first = this.choose(box);
    this.seen = { ...this.first };
    this.tenMm = Number(figure.dataset.tenMm);
    this.stage = document.createElement("div");
    this.stage.className = "stage";
    this.view.replaceWith(this.stage);
    this.stage.append(this.view);
    this.stage.before(this.makeButtons());
    const layers = figure.querySelectorAll(".layer");
    if (layers.length) this.stage.after(this.makeSwitches(layers));
    if (this.tenMm) this.stage.after(this.makeScale());
    this.listen();
    this.draw();
    new ResizeObserver(() => this.draw()).observe(this.view);
  }

  /* A long strip is shown in a frame that is not longer than a screen. */
  shape() {
    const { width, height } = this.whole;
    const ratio = Math.min(1.6, Math.max(0.75, width / height));
    this.view.style.aspectRatio = String(ratio);
    if (width / height < ratio) {
      this.whole.x -= (height * ratio - width) / 2;
      this.whole.width = height * ratio;
    } else {
      this.whole.y -= (width / ratio - height) / 2;
      this.whole.height = width / ratio;
    }
  }

  /* What is seen at first: the sheet, or of a slender strip its upper or left end. */
  choose(sheet) {
    const { x, y, width, height } = this.whole;
    const filled = Math.min(sheet.width / width, sheet.height / height);
    if (filled >= SLENDER) return { ...this.whole };
    const part = filled * 2;
    const tall = sheet.width < width;
    return {
      x: tall ? x + (width * (1 - part)) / 2 : sheet.x,
      y: tall ? sheet.y : y + (height * (1 - part)) / 2,
      width: width * part,
      height: height * part,
    };
  }

  makeButtons() {
    const buttons = document.createElement("div");
    buttons.className = "tools buttons";
    for (const [sign, words, act] of [
      ["+", "Nearer", () => this.zoom(STEP)],
      ["−", "Farther", () => this.zoom(1 / STEP)],
      ["Whole sheet", "", () => this.showWhole()],
    ]) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = sign;
      if (words) button.setAttribute("aria-label", words);
      button.addEventListener("click", act);
      buttons.append(button);
    }
    return buttons;
  }

  /* A switch for each layer, beside a sample of how it is drawn. */
  makeSwitches(layers) {
    const switches = document.createElement("fieldset");
    switches.className = "tools layers";
    const legend = document.createElement("legend");
    legend.textContent = "Show what was found on the sheet";
    switches.append(legend);
    for (const layer of layers) {
      const label = document.createElement("label");
      const tick = document.createElement("input");
      tick.type = "checkbox";
      tick.addEventListener("change", () => layer.classList.toggle("off", !tick.checked));
      label.append(tick, sampleOf(layer.dataset.name), layer.dataset.words);
      switches.append(label);
    }
    return switches;
  }

  makeScale() {
    this.scale = document.createElement("div");
    this.scale.className = "scale";
    this.bar = document.createElement("span");
    this.length = document.createElement("small");
    this.scale.append(this.bar, this.length);
    return this.scale;
  }

  get perPixel() {
    return this.seen.width / (this.view.clientWidth || 1);
  }

  draw() {
    const { x, y, width, height } = this.seen;
    this.view.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
    this.stage.classList.toggle("part", width < this.whole.width * 0.999);
    this.stage.classList.toggle("near", width < this.first.width * 0.999);
    if (this.scale) {
      const pixels = this.tenMm / this.perPixel;
      const mm = [1, 2, 5, 10, 20, 50, 100, 200].find((length) => (pixels * length) / 10 > 40) || 500;
      this.bar.style.width = `${(pixels * mm) / 10}px`;
      this.length.textContent = `${mm} mm`;
    }
  }

  /* Look nearer by a factor, keeping a point of the sheet where it is. */
  zoom(factor, at = { x: this.seen.x + this.seen.width / 2, y: this.seen.y + this.seen.height / 2 }) {
    const least = this.whole.width / CLOSEST;
    const width = Math.min(this.whole.width, Math.max(least, this.seen.width / factor));
    const part = width / this.seen.width;
    this.seen = {
      x: at.x - (at.x - this.seen.x) * part,
      y: at.y - (at.y - this.seen.y) * part,
      width,
      height: this.seen.height * part,
    };
    this.keepInside();
  }

  pan(x, y) {
    this.seen.x += x;
    this.seen.y += y;
    this.keepInside();
  }

  showWhole() {
    this.seen = { ...this.whole };
    this.draw();
  }

  keepInside() {
    const within = (value, low, high) => Math.min(Math.max(value, low), Math.max(low, high));
    this.seen.x = within(this.seen.x, this.whole.x, this.whole.x + this.whole.width - this.seen.width);
    this.seen.y = within(this.seen.y, this.whole.y, this.whole.y + this.whole.height - this.seen.height);
    this.draw();
  }

  point(event) {
    const place = this.view.getBoundingClientRect();
    return {
      x: this.seen.x + (event.clientX - place.left) * this.perPixel,
      y: this.seen.y + (event.clientY - place.top) * this.perPixel,
    };
  }

  listen() {
    const fingers = new Map();
    let moved = 0;
    this.view.setAttribute("tabindex", "0");
    this.view.setAttribute("aria-description", "Plus and minus zoom, arrow keys move, 0 shows the whole sheet.");
    this.view.addEventListener("keydown", (event) => {
      const step = this.seen.width / 8;
      const keys = {
        "+": () => this.zoom(STEP), "=": () => this.zoom(STEP), "-": () => this.zoom(1 / STEP),
        "0": () => this.showWhole(),
        ArrowLeft: () => this.pan(-step, 0), ArrowRight: () => this.pan(step, 0),
        ArrowUp: () => this.pan(0, -step), ArrowDown: () => this.pan(0, step),
      };
      const nowhere = event.key.startsWith("Arrow") && !this.stage.classList.contains("part");
      if (event.ctrlKey || event.metaKey || event.altKey || nowhere || !keys[event.key]) return;
      keys[event.key]();
      event.preventDefault();
    });
    this.view.addEventListener("wheel", (event) => {
      if (!event.ctrlKey) return;
      this.zoom(Math.exp(-event.deltaY / 200), this.point(event));
      event.preventDefault();
    }, { passive: false });
    this.view.addEventListener("pointerdown", (event) => {
      fingers.set(event.pointerId, event);
      moved = 0;
    });
    this.view.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const others = [...fingers.values()].filter((one) => one.pointerId !== event.pointerId);
      if (others.length) {
        const [other] = others;
        const apart = (one) => Math.hypot(one.clientX - other.clientX, one.clientY - other.clientY);
        const middle = { clientX: (event.clientX + other.clientX) / 2, clientY: (event.clientY + other.clientY) / 2 };
        this.zoom(apart(event) / Math.max(1, apart(before)), this.point(middle));
        moved = Infinity;
      } else if (this.stage.classList.contains("part")) {
        const across = event.clientX - before.clientX;
        const down = event.clientY - before.clientY;
        moved += Math.hypot(across, down);
        if (moved > 4) this.view.setPointerCapture(event.pointerId);
        this.pan(-across * this.perPixel, -down * this.perPixel);
      }
      fingers.set(event.pointerId, event);
    });
    const lift = (event) => fingers.delete(event.pointerId);
    this.view.addEventListener("pointerup", lift);
    this.view.addEventListener("pointercancel", lift);
    this.view.addEventListener("pointerleave", lift);
    /* A click looks nearer at its place: moving about needs no dragging. */
    this.view.addEventListener("click", (event) => {
      if (moved <= 4) this.zoom(STEP, this.point(event));
    });
  }
}

document.querySelectorAll("figure.sheet svg.view").forEach((view) => new Sheet(view.closest("figure")));

/* The sheets stay beside what is told of them; where they are taller than the window, it is their
   lower end that stays, so that all of them can be reached. */
const sheets = document.querySelector(".sheets");

function settle() {
  const room = innerHeight - sheets.offsetHeight;
  sheets.style.setProperty("--top", `${Math.min(16, room - 16)}px`);
}

new ResizeObserver(settle).observe(sheets);
window.addEventListener("resize", settle);
