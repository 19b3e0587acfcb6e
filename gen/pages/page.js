// The player: buttons, keys and clock, and what they show.
import { KIND, Replay } from "./page-replay.js";
import { Pictures } from "./page-pictures.js";
import { Strip } from "./page-strip.js";
import { Listing, asButton } from "./page-lists.js";

const MM_PER = { mm: 1, inch: 25.4 };
const UNIT = { mm: "mm", inch: "in" };
const DIGITS = { mm: 3, inch: 4 };
const SPEEDS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 5000, 20000];
const WHOLE_S = 60; // about how long the whole of a program plays at first
const FOCUSABLE_BORES = 60;

const byId = (id) => document.getElementById(id);

/** A number with so many digits, no idle zeros, and no minus before nothing. */
function plain(value, digits) {
  const text = value.toFixed(digits);
  const bare = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return bare === "-0" ? "0" : bare;
}

function clock(seconds) {
  const tenths = Math.round(seconds * 10);
  const [hours, minutes, rest] = [Math.floor(tenths / 36000), Math.floor(tenths / 600) % 60, (tenths % 600) / 10];
  const tail = `${rest.toFixed(1).padStart(4, "0")}`;
  return hours ? `${hours}:${String(minutes).padStart(2, "0")}:${tail}` : `${minutes}:${tail}`;
}

class Player {
  constructor(data) {
    this.data = data;
    this.replay = new Replay(data);
    this.pictures = new Pictures(byId("picture-side"), byId("picture-end"), this.replay);
    this.units = data.units;
    this.step = 0;
    this.time = 0;
    this.playing = false;
    this.told = new Map();
    this.listing = new Listing(byId("rows"), byId("all"), this.replay, (line) => this.goToLine(line));
    this.strip = new Strip(byId("strip"), this.replay, (time) => this.goToTime(time));
    this.fillSpeeds();
    this.wireButtons();
    this.wireBores();
    this.wireFindings();
    document.addEventListener("keydown", (event) => this.key(event));
    window.addEventListener("resize", () => this.strip.move(this.time));
    window.addEventListener("beforeprint", () => { this.pause(); this.pictures.rest(); });
    window.addEventListener("afterprint", () => this.show());
    byId("units").value = this.units;
    byId("scrub").max = this.replay.total;
    this.setUnits(this.units);
    document.querySelectorAll(".scripted").forEach((part) => { part.hidden = false; });
    this.listing.draw();
    this.show();
  }

  fillSpeeds() {
    const wanted = this.replay.total / WHOLE_S;
    const first = SPEEDS.find((speed) => speed >= wanted) ?? SPEEDS[SPEEDS.length - 1];
    for (const speed of SPEEDS) {
      const name = speed === 1 ? "as it is" : `${speed} times`;
      byId("speed").add(new Option(name, speed, speed === first, speed === first));
    }
  }

  wireButtons() {
    const acts = {
      play: () => this.toggle(), back: () => this.by(-1), forward: () => this.by(1),
      "to-start": () => this.go(0, 0), "to-end": () => this.goToStep(this.replay.steps - 1),
    };
    for (const [id, act] of Object.entries(acts)) byId(id).addEventListener("click", act);
    byId("scrub").addEventListener("input", () => this.goToTime(Number(byId("scrub").value)));
    byId("units").addEventListener("change", () => this.setUnits(byId("units").value));
    byId("theme").addEventListener("change", () => { document.documentElement.dataset.theme = byId("theme").value; });
  }

  wireBores() {
    const go = (index) => this.goToBore(index);
    document.querySelectorAll("table [data-bore]").forEach((cell) => {
      const index = Number(cell.dataset.bore);
      if (this.data.bores[index].first === null) return;
      asButton(cell, `bore ${cell.textContent}: to its first cut`, () => go(index));
    });
    const side = byId("picture-side");
    const few = this.data.bores.length <= FOCUSABLE_BORES;
    side.querySelectorAll(few ? ".bore" : ".none").forEach((group) => {
      const bore = this.data.bores[Number(group.dataset.bore)];
      if (bore.first === null) return;
      group.setAttribute("tabindex", "0");
      group.setAttribute("role", "button");
      group.setAttribute("aria-label", `bore ${bore.name}: to its first cut`);
    });
    side.addEventListener("click", (event) => {
      const bore = event.target.closest("[data-bore]");
      if (bore) go(Number(bore.dataset.bore));
    });
    side.addEventListener("keydown", (event) => {
      const bore = event.target.closest("[data-bore]");
      if (!bore || (event.key !== "Enter" && event.key !== " ")) return;
      event.preventDefault();
      event.stopPropagation();
      go(Number(bore.dataset.bore));
    });
  }

  wireFindings() {
    document.querySelectorAll("[data-finding]").forEach((item) => {
      const finding = this.data.findings[Number(item.dataset.finding)];
      if (finding.at) asButton(item, "", () => this.goToLine(finding.at));
    });
  }

  setUnits(units) {
    this.units = units;
    byId("units").value = units;
    document.querySelectorAll(".readout .unit").forEach((word) => { word.textContent = UNIT[units]; });
    this.strip.tell((length) => this.length(length));
    this.told.clear();
    this.show();
  }

  number(length) {
    const text = (length / MM_PER[this.units]).toFixed(DIGITS[this.units]);
    return Number(text) === 0 ? text.replace("-", "") : text;
  }

  length(length) { return `${plain(length / MM_PER[this.units], DIGITS[this.units])} ${UNIT[this.units]}`; }

  toggle() {
    if (this.playing) this.pause();
    else this.play();
  }

  play() {
    if (this.isAtEnd()) [this.step, this.time] = [0, 0];
    this.playing = true;
    byId("play").textContent = "Pause";
    this.before = null;
    requestAnimationFrame((now) => this.frame(now));
  }

  pause() {
    if (!this.playing) return;
    this.playing = false;
    byId("play").textContent = "Play";
    this.say();
  }

  isAtEnd() { return this.step === this.replay.steps - 1 && this.time >= this.replay.stepEnd(this.step); }

  frame(now) {
    if (!this.playing) return;
    if (this.before !== null) this.advance(((now - this.before) / 1000) * Number(byId("speed").value));
    this.before = now;
    this.show();
    if (this.isAtEnd()) this.pause();
    if (this.playing) requestAnimationFrame((next) => this.frame(next));
  }

  /** Let time pass, up to the next stop at most. */
  advance(seconds) {
    const { replay } = this;
    const time = Math.min(replay.total, this.time + seconds);
    const step = time >= replay.total ? replay.steps - 1 : Math.max(this.step, replay.stepAtTime(time));
    const halt = byId("stops").checked ? replay.haltSteps.find((one) => one > this.step && one <= step) : undefined;
    if (halt === undefined) {
      [this.step, this.time] = [step, time];
    } else {
      [this.step, this.time] = [halt, replay.stepEnd(halt)];
      this.pause();
    }
  }

  go(step, time) {
    this.step = Math.max(0, Math.min(this.replay.steps - 1, step));
    this.time = time;
    this.before = null;
    this.show();
    if (!this.playing) this.say();
  }

  goToStep(step) {
    const within = Math.max(0, Math.min(this.replay.steps - 1, step));
    this.go(within, this.replay.stepEnd(within));
  }

  goToLine(line) { this.goToStep(this.replay.stepOfLine(line)); }

  goToTime(time) { this.go(this.replay.stepAtTime(time), time); }

  /** Blocks on or back; a block half done is finished first. */
  by(count) {
    this.pause();
    const half = count > 0 && this.time < this.replay.stepEnd(this.step);
    this.goToStep(half ? this.step : this.step + count);
  }

  goToBore(index) {
    const { first } = this.data.bores[index];
    if (first === null) return;
    this.pause();
    this.go(this.replay.stepOfLine(this.replay.line[first]), this.replay.from[first]);
  }

  /** The next of sorted lines after the current one, or the last before it. */
  next(lines, count) {
    const now = this.replay.stepLine[this.step];
    return count > 0 ? lines.find((line) => line > now) : lines.findLast((line) => line < now);
  }

  nextBore(count) {
    const firsts = this.data.bores.map((bore, index) => [this.replay.line[bore.first], index]).filter(([line]) => line);
    firsts.sort((a, b) => a[0] - b[0]);
    const line = this.next(firsts.map(([at]) => at), count);
    if (line) this.goToBore(firsts.find(([at]) => at === line)[1]);
  }

  nextFinding(count) {
    const placed = this.data.findings.filter((finding) => finding.at);
    const steps = placed.map((finding) => this.replay.stepOfLine(finding.at));
    const lines = [...new Set(steps)].sort((a, b) => a - b).map((step) => this.replay.stepLine[step]);
    const line = this.next(lines, count);
    if (line) this.goToLine(line);
  }

  choose(id, count, around = false) {
    const list = byId(id);
    const last = list.options.length;
    const wanted = list.selectedIndex + count;
    list.selectedIndex = around ? (wanted + last) % last : Math.max(0, Math.min(last - 1, wanted));
    list.dispatchEvent(new Event("change"));
  }

  key(event) {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const field = event.target.closest("input, select, textarea");
    // The slider keeps its arrows and such, the box its space, a list all that it may be typed into.
    const kept = { checkbox: event.key === " ", range: event.key.length > 1 };
    if (field && (kept[field.type] ?? true)) return;
    if (event.key === " " && event.target.closest("button, summary, [role=button]")) return;
    const acts = {
      " ": () => this.toggle(), ArrowLeft: () => this.by(-1), ArrowRight: () => this.by(1),
      Home: () => this.go(0, 0), End: () => this.goToStep(this.replay.steps - 1), "-": () => this.choose("speed", -1),
      "+": () => this.choose("speed", 1), b: () => this.nextBore(event.shiftKey ? -1 : 1),
      f: () => this.nextFinding(event.shiftKey ? -1 : 1), u: () => this.choose("units", 1, true),
      t: () => this.choose("theme", 1, true), "?": () => this.toggleHelp(),
    };
    if (event.target.id === "rows") Object.assign(acts, { ArrowUp: () => this.by(-1), ArrowDown: () => this.by(1) });
    const act = acts[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (!act) return;
    event.preventDefault();
    act();
  }

  toggleHelp() {
    const help = byId("help");
    help.open = !help.open;
    help.scrollIntoView({ block: "nearest" });
  }

  /** Put a text in place if it is not there. */
  put(id, text) {
    if (this.told.get(id) === text) return;
    this.told.set(id, text);
    byId(id).textContent = text;
  }

  show() {
    const state = this.replay.state(this.step, this.time);
    this.pictures.show(state);
    this.strip.move(this.time);
    this.showPlace(state);
    this.showSpeeds(state);
    this.showNearest(state);
    this.put("elapsed", clock(this.time));
    this.put("remaining", clock(Math.max(0, this.replay.total - this.time)));
    byId("scrub").value = this.time;
    byId("scrub").setAttribute("aria-valuetext", `${clock(this.time)} of ${clock(this.replay.total)}`);
    if (this.shownStep !== this.step) this.showStep();
  }

  showPlace(state) {
    ["x", "y", "z"].forEach((axis, index) => {
      const at = state.at[index];
      const unknown = Number.isNaN(at);
      this.put(axis, unknown ? "not known" : this.number(at));
      this.put(`machine-${axis}`, unknown ? "not known" : this.number(at + this.data.zero[index]));
    });
  }

  showSpeeds({ event, moving }) {
    const { replay, data } = this;
    const sense = event < 0 ? 0 : replay.sense[event];
    const rpm = event < 0 ? 0 : replay.rpm[event];
    const word = { 0: "", 1: "clockwise", "-1": "counterclockwise" };
    const standing = "stands still";
    this.put("spindle", sense ? `${plain(rpm, 3)} rpm ${word[sense]} seen from above` : standing);
    const way = word[data.reverses ? -sense : sense];
    this.put("cutter", sense ? `${plain(rpm / data.ratio, 3)} rpm ${way} seen from the head` : standing);
    const feeding = moving && replay.kind[event] === KIND.feed;
    const rapid = moving && replay.kind[event] === KIND.rapid;
    const unit = UNIT[this.units];
    const feed = feeding ? replay.feed[event] / MM_PER[this.units] : 0;
    this.put("feed", feeding ? `${plain(feed, DIGITS[this.units])} ${unit}/min` : rapid ? "rapid" : "no move");
    const turn = (feed / rpm) * data.ratio;
    this.put("per-turn", feeding && sense ? `${plain(turn, DIGITS[this.units] + 2)} ${unit}` : "-");
  }

  showNearest({ event, moving }) {
    const { near } = this.replay;
    if (near === null) return this.put("nearest", "the job tells of nothing to be near to");
    const distance = moving ? near.distance[event] : NaN;
    if (Number.isNaN(distance)) return this.put("nearest", moving ? "nothing near on this move" : "-");
    const [part, obstacle] = near.pairs[event];
    const apart = distance <= 0 ? "they meet" : this.length(distance);
    return this.put("nearest", `${apart}: ${part}, ${obstacle}`);
  }

  showStep() {
    const { replay, step } = this;
    const line = replay.stepLine[step];
    const [program, own] = replay.place(line);
    this.shownStep = step;
    const which = this.data.starts.length > 1 ? `program ${program}, ` : "";
    this.put("where", `${which}line ${own}, block ${step + 1} of ${replay.steps}`);
    this.put("block", replay.text(line - 1) || " ");
    this.put("words", replay.words(line));
    this.put("wrong", this.wrong(line).join("; "));
    this.listing.show(line);
    const halt = replay.haltAt.get(step);
    byId("halt").hidden = !halt;
    const stop = halt?.optional ? "Stop, if its switch is on" : "Stop";
    this.put("halt", halt ? `${stop}: ${halt.message || "waits for the operator"}` : "");
  }

  /** What was found at a line. */
  wrong(line) {
    return this.data.findings.filter((one) => one.at === line).map((one) => `\u2715 ${one.rule}: ${one.message}`);
  }

  /** Tell whoever listens where the replay stands. */
  say() {
    const line = this.replay.stepLine[this.step];
    const told = this.replay.words(line) || this.replay.text(line - 1);
    const wrong = this.wrong(line).map((one) => `. Found: ${one.slice(2)}`).join("");
    this.put("heard", `${byId("where").textContent}: ${told}${wrong}`);
  }
}

const player = new Player(JSON.parse(byId("data").textContent));
document.documentElement.dataset.ready = String(player.replay.steps);
