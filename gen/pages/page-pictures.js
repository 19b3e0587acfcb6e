// The two pictures: the tool where it stands, the path gone and to come, and what has been bored.
import { KIND, STAGE, countBelow } from "./page-replay.js";

const SVG = "http://www.w3.org/2000/svg";
const CHUNK = 400; // moves whose path is drawn as one
const GRID = 1600; // places across a picture that are told apart in a long path

export function svgElement(name, attributes, parent) {
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  if (parent) parent.append(element);
  return element;
}

const short = (value) => String(Math.round(value * 1000) / 1000);

class Picture {
  constructor(svg, replay, across) {
    this.svg = svg;
    this.replay = replay;
    this.across = across;
    this.tool = svg.querySelector(".tool");
    this.still = this.tool.getAttribute("transform");
    this.cutter = [...this.tool.querySelectorAll(".cutter, .swept")];
    this.path = svg.querySelector(".path");
    const [left, top, width] = svg.getAttribute("viewBox").split(" ").map(Number);
    this.grid = { left, top, step: width / GRID };
    svg.setAttribute("role", "group");
    this.drawPath();
  }

  place(event, ends) {
    const at = (ends === undefined ? this.replay.end : ends);
    const known = (axis) => (Number.isNaN(at[axis][event]) ? this.replay.firstKnown[axis] : at[axis][event]);
    return [known(this.across), -known(2)];
  }

  isMove(event) { return this.replay.kind[event] <= KIND.feed; }

  /** Moves of events from one to before another, as one path for feeds and one for rapids. */
  lines(begin, end, drawn) {
    const { left, top, step } = this.grid;
    const parts = { feed: [], rapid: [] };
    const last = { feed: "", rapid: "" };
    for (let event = begin; event < end; event += 1) {
      if (!this.isMove(event)) continue;
      const kind = this.replay.kind[event] === KIND.feed ? "feed" : "rapid";
      const [x0, y0] = this.place(event, this.replay.start);
      const [x1, y1] = this.place(event);
      if (drawn) { // in a long path, what would look the same is drawn once
        const places = [[x0, left], [y0, top], [x1, left], [y1, top]];
        const ends = places.map(([value, zero]) => Math.round((value - zero) / step));
        const look = `${kind}${ends}`;
        if (drawn.has(look)) continue;
        drawn.add(look);
      }
      const [from, to] = [`${short(x0)},${short(y0)}`, `${short(x1)},${short(y1)}`];
      if (from === to) continue;
      parts[kind].push(last[kind] === from ? `L${to}` : `M${from}L${to}`);
      last[kind] = to;
    }
    return { feed: parts.feed.join(""), rapid: parts.rapid.join("") };
  }

  drawPath() {
    const { count } = this.replay;
    const size = Math.max(CHUNK, Math.ceil(count / 64));
    this.chunk = size;
    const all = this.lines(0, count, new Set());
    for (const kind of ["rapid", "feed"]) svgElement("path", { class: `come ${kind}`, d: all[kind] }, this.path);
    this.gone = [];
    const drawn = count > 4 * CHUNK ? new Set() : null;
    for (let begin = 0; begin + size <= count; begin += size) {
      const lines = this.lines(begin, begin + size, drawn);
      this.gone.push(["rapid", "feed"].map((kind) => (
        svgElement("path", { class: `gone ${kind}`, d: lines[kind], display: "none" }, this.path))));
    }
    this.shown = 0;
    this.last = ["rapid", "feed"].map((kind) => svgElement("path", { class: `gone ${kind}`, d: "" }, this.path));
    this.live = svgElement("path", { class: "gone", d: "" }, this.path);
    this.upTo = -1;
  }

  move(state) {
    const known = state.at.map((value, axis) => (Number.isNaN(value) ? this.replay.firstKnown[axis] : value));
    const [x, y] = [known[this.across], -known[2]];
    this.tool.setAttribute("transform", `translate(${short(x)},${short(y)})`);
    const done = state.done < 1 ? state.event : state.event + 1;
    if (done !== this.upTo) this.showGone(done);
    if (state.done < 1 && this.isMove(state.event)) {
      const [x0, y0] = this.place(state.event, this.replay.start);
      this.live.setAttribute("class", `gone ${this.replay.kind[state.event] === KIND.feed ? "feed" : "rapid"}`);
      this.live.setAttribute("d", `M${short(x0)},${short(y0)}L${short(x)},${short(y)}`);
    } else {
      this.live.setAttribute("d", "");
    }
  }

  showGone(done) {
    const whole = Math.min(this.gone.length, Math.floor(done / this.chunk));
    for (let at = Math.min(whole, this.shown); at < Math.max(whole, this.shown); at += 1) {
      for (const path of this.gone[at]) path.setAttribute("display", at < whole ? "inline" : "none");
    }
    this.shown = whole;
    this.upTo = done;
    const lines = this.lines(whole * this.chunk, done, null);
    this.last[0].setAttribute("d", lines.rapid);
    this.last[1].setAttribute("d", lines.feed);
  }

  spin(turning) { this.tool.classList.toggle("standing", !turning); }

  setCutter(scale) {
    const along = this.across === 0 ? 1 : scale;
    for (const part of this.cutter) part.setAttribute("transform", `scale(${short(along)},${short(scale)})`);
  }

  rest() {
    this.tool.setAttribute("transform", this.still);
    this.spin(true);
    this.setCutter(1);
  }
}

/** Both pictures of a replay. */
export class Pictures {
  constructor(side, end, replay) {
    this.replay = replay;
    this.both = [new Picture(side, replay, 0), new Picture(end, replay, 1)];
    this.bores = replay.data.bores;
    this.bored = [];
    side.querySelectorAll(".bore").forEach((group) => {
      const before = group.querySelector(".start");
      this.bored[Number(group.dataset.bore)] = [["begun", STAGE.begun], ["bored", STAGE.done]].map(([kind, stage]) => {
        const path = svgElement("path", { class: kind, d: "" });
        group.insertBefore(path, before);
        return { path, stage };
      });
    });
    this.seen = -1;
    this.turning = null;
    this.diameter = null;
  }

  show(state) {
    for (const picture of this.both) picture.move(state);
    const turning = state.event >= 0 && this.replay.sense[state.event] !== 0;
    if (turning !== this.turning) this.both.forEach((picture) => picture.spin(turning));
    this.turning = turning;
    this.setCutter(state.event);
    this.bore(state);
  }

  /** The cutter as it is set: for the bore it works in, or last worked in; behind a stop, will work in next. */
  setCutter(event) {
    const { strokeEvent, strokeDiameter } = this.replay;
    if (!strokeEvent.length) return;
    let at = Math.max(0, countBelow(strokeEvent, event, true) - 1);
    const isSetAnew = this.replay.data.halts.some(([halt]) => strokeEvent[at] < halt && halt <= event);
    if (isSetAnew && at + 1 < strokeEvent.length) at += 1;
    const diameter = strokeDiameter[at];
    if (diameter === this.diameter) return;
    this.diameter = diameter;
    this.both.forEach((picture) => picture.setCutter(diameter / this.bores[0].diameter));
  }

  /** Draw anew what is bored, of every bore that was worked in between the moment seen last and this one. */
  bore(state) {
    const { strokeEvent, strokeBore } = this.replay;
    const low = countBelow(strokeEvent, Math.min(this.seen, state.event));
    const high = countBelow(strokeEvent, Math.max(this.seen, state.event), true);
    const some = new Set(strokeBore.subarray(low, high));
    for (const index of some) {
      for (const { path, stage } of this.bored[index] ?? []) {
        path.setAttribute("d", this.boredShape(index, state, stage));
      }
    }
    this.seen = state.event;
  }

  /** What the passes of one stage have cut of a bore. */
  boredShape(index, state, stage) {
    const { way } = this.replay.data;
    const { near, far } = this.bores[index];
    const deepest = new Map();
    for (const { event, diameter, stage: own } of this.replay.cuts[index]) {
      if (event > state.event) break;
      if (own !== stage) continue;
      const edge = event === state.event ? state.at[0] : this.replay.end[0][event];
      const depth = Math.min(Math.max((edge - near) * way, 0), Math.abs(far - near));
      if (depth > (deepest.get(diameter) ?? 0)) deepest.set(diameter, depth);
    }
    let shape = "";
    for (const [diameter, depth] of deepest) {
      const r = short(diameter / 2);
      shape += `M${short(near)},-${r}H${short(near + way * depth)}V${r}H${short(near)}Z`;
    }
    return shape;
  }

  /** As Python drew them, for paper. */
  rest() {
    this.both.forEach((picture) => picture.rest());
    this.turning = null;
    this.diameter = null;
  }
}
