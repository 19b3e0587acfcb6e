// The strip over time: how near anything comes against what must be kept, cuts, stops and findings.
import { svgElement } from "./page-pictures.js";
import { STAGE } from "./page-replay.js";

const BINS = 1000;
const HIGH = 60; // of the part that shows distances
const LANE = 14; // of the part below, which shows cuts

function bins(replay, from, to) {
  const scale = replay.total > 0 ? BINS / replay.total : 0;
  const low = Math.min(BINS - 1, Math.floor(from * scale));
  return [low, Math.max(low + 1, Math.min(BINS, Math.ceil(to * scale)))];
}

/** The least distance in every thousandth of the time; Infinity where nothing is near. */
function leastDistances(replay) {
  const least = new Float64Array(BINS).fill(Infinity);
  for (let event = 0; event < replay.count; event += 1) {
    const distance = replay.near.distance[event];
    if (Number.isNaN(distance)) continue;
    const [low, high] = bins(replay, replay.from[event], replay.from[event + 1]);
    for (let at = low; at < high; at += 1) if (distance < least[at]) least[at] = distance;
  }
  return least;
}

/** The strip in an element; `jump` is called with the time that is clicked, `show` tells a length. */
export class Strip {
  constructor(host, replay, jump) {
    this.host = host;
    this.replay = replay;
    const total = replay.total || 1;
    this.x = (time) => (BINS * time) / total;
    this.svg = svgElement("svg", {
      viewBox: `0 0 ${BINS} ${HIGH + LANE}`, preserveAspectRatio: "none", role: "img", class: "graph",
    });
    host.append(this.svg);
    this.labels = document.createElement("p");
    this.labels.className = "labels";
    this.head = document.createElement("div");
    this.head.className = "playhead";
    host.append(this.head, this.labels);
    this.drawCuts();
    if (replay.near !== null) this.drawDistances();
    this.drawMarks();
    this.svg.addEventListener("click", (click) => {
      const box = this.svg.getBoundingClientRect();
      jump(Math.min(1, Math.max(0, (click.clientX - box.left) / box.width)) * replay.total);
    });
  }

  drawDistances() {
    const { limit } = this.replay.near;
    this.top = limit > 0 ? 5 * limit : 10;
    const y = (distance) => HIGH - (HIGH * Math.min(Math.max(distance, 0), this.top)) / this.top;
    const least = leastDistances(this.replay);
    svgElement("rect", { class: "forbidden", x: 0, y: y(limit), width: BINS, height: HIGH - y(limit) }, this.svg);
    let area = `M0,${HIGH}`;
    let line = "";
    least.forEach((distance, at) => {
      const level = Math.round(y(distance) * 100) / 100;
      area += `L${at},${level}H${at + 1}`;
      line += `${at ? "L" : "M"}${at},${level}H${at + 1}`;
    });
    svgElement("path", { class: "room", d: `${area}V${HIGH}Z` }, this.svg);
    svgElement("path", { class: "least", d: line }, this.svg);
    svgElement("path", { class: "limit", d: `M0,${y(limit)}H${BINS}` }, this.svg);
    this.least = least.reduce((a, b) => Math.min(a, b));
  }

  drawCuts() {
    const { replay } = this;
    const shapes = [];
    let last = -1;
    for (const [at, event] of replay.strokeEvent.entries()) {
      if (replay.strokeStage[at] === STAGE.air || !replay.cutsForward(event)) continue;
      const [low, high] = bins(replay, replay.from[event], replay.from[event + 1]);
      if (high <= last) continue;
      shapes.push(`M${Math.max(low, last)},${HIGH + 2}H${high}V${HIGH + LANE}H${Math.max(low, last)}Z`);
      last = high;
    }
    svgElement("path", { class: "cuts", d: shapes.join("") }, this.svg);
  }

  drawMarks() {
    const { replay } = this;
    const stops = new Set();
    for (const step of replay.haltSteps) stops.add(Math.round(this.x(replay.stepStart(step))));
    svgElement("path", { class: "stops", d: [...stops].map((at) => `M${at},0V${HIGH + LANE}`).join("") }, this.svg);
    const places = new Set(replay.data.findings.filter((one) => one.at).map((one) => (
      Math.round(this.x(replay.stepEnd(replay.stepOfLine(one.at)))))));
    for (const at of [...places].slice(0, 400)) {
      const mark = document.createElement("span");
      mark.className = "mark";
      mark.style.left = `${at / 10}%`;
      this.host.append(mark);
    }
  }

  /** Tell what the strip shows, lengths in a unit. */
  tell(show) {
    const shown = [];
    if (this.replay.near === null) shown.push("The job tells of nothing to be near to: no distance is known.");
    else {
      const least = this.least <= 0 ? "they meet" : `least ${show(this.least)}`;
      const some = this.least === Infinity ? `nothing comes within ${show(this.top)}` : least;
      const kept = `dashed: to be kept, ${show(this.replay.near.limit)}`;
      shown.push(`Line: distance to the nearest, ${some}; ${kept}; top: ${show(this.top)} or more.`);
    }
    shown.push("Bars below: cutting.");
    if (this.replay.haltSteps.length) shown.push("Upright dashes: stops.");
    if (this.replay.data.findings.length) shown.push("Crosses: findings.");
    this.labels.textContent = shown.join(" ");
    this.svg.setAttribute("aria-label", shown.join(" "));
  }

  move(time) {
    const part = this.replay.total > 0 ? time / this.replay.total : 0;
    this.head.style.transform = `translateX(${part * this.host.clientWidth}px)`;
  }
}
