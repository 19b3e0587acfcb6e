// The replay as the page has it: columns made arrays again, steps of the program, and the machine at any moment.

export const STAGE = { air: 0, begun: 1, done: 2 }; // of a bore, by the pass that works in it
export const KIND = { rapid: 0, feed: 1, wait: 2, halt: 3, turn: 4, offset: 5, end: 6 };
const ARRAY = { f8: Float64Array, i4: Int32Array, u1: Uint8Array, u2: Uint16Array };

function unpack(width, text) {
  const raw = atob(text);
  const bytes = new Uint8Array(raw.length);
  for (let at = 0; at < raw.length; at += 1) bytes[at] = raw.charCodeAt(at);
  return new ARRAY[width](bytes.buffer);
}

function packed(column) {
  const width = Object.keys(ARRAY).find((name) => name in column);
  return unpack(width, column[width]);
}

/** A column of numbers, see gen/packed.py. */
export function numbers(column) {
  const values = packed(column);
  if (!("of" in column)) return values;
  const table = numbers(column.of);
  const all = new table.constructor(values.length);
  for (let at = 0; at < values.length; at += 1) all[at] = table[values[at]];
  return all;
}

/** A column of texts, as a function from place to text. */
export function texts(column) {
  const places = packed(column);
  return (at) => column.of[places[at]];
}

/** How many of sorted values are less than one, or not more. */
export function countBelow(values, value, orEqual = false) {
  let low = 0;
  let high = values.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (values[middle] < value || (orEqual && values[middle] === value)) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * A program run: events with their times and places, and steps, the blocks at which the control does something.
 * A place in it is a step and a time between the step's two ends; a step at its end is done.
 */
export class Replay {
  constructor(data) {
    const { events, words } = data;
    this.data = data;
    this.line = numbers(events.line);
    this.kind = numbers(events.kind);
    this.seconds = numbers(events.seconds);
    this.end = [numbers(events.x), numbers(events.y), numbers(events.z)];
    this.feed = numbers(events.feed);
    this.rpm = numbers(events.rpm);
    this.sense = numbers(events.sense);
    this.count = this.line.length;
    this.text = texts(data.lines);
    this.lines = data.lineCount;
    this.pattern = texts(words.pattern);
    this.figures = texts(words.numbers);
    this.findTimes();
    this.findStarts(events.breaks);
    this.findSteps();
    this.findHalts();
    this.findNear(data.near);
    this.findStrokes(data.strokes);
  }

  findTimes() {
    this.from = new Float64Array(this.count + 1);
    for (let at = 0; at < this.count; at += 1) this.from[at + 1] = this.from[at] + this.seconds[at];
    this.total = this.from[this.count];
  }

  findStarts(breaks) {
    this.start = this.end.map((end) => {
      const start = new Float64Array(this.count);
      for (let at = 0; at < this.count; at += 1) start[at] = at ? end[at - 1] : NaN;
      return start;
    });
    for (const [at, ...place] of breaks) {
      place.forEach((value, axis) => { this.start[axis][at] = value === null ? NaN : value; });
    }
    // Where an axis stands before its first word nobody knows; it is drawn where it first stands.
    this.firstKnown = this.end.map((end) => end.find((value) => !Number.isNaN(value)) ?? 0);
  }

  findSteps() {
    const lines = [];
    const first = [];
    let event = 0;
    for (let line = 1; line <= this.lines; line += 1) {
      const begin = event;
      while (event < this.count && this.line[event] <= line) event += 1;
      if (event > begin || this.pattern(line - 1).length > 1 || this.pattern(line - 1)[0] !== "") {
        lines.push(line);
        first.push(begin);
      }
    }
    if (!lines.length) { // nothing that can be told: there is still a place to stand
      lines.push(1);
      first.push(0);
    }
    first.push(this.count);
    this.steps = lines.length;
    this.stepLine = Int32Array.from(lines);
    this.stepFirst = Int32Array.from(first);
  }

  findHalts() {
    this.haltAt = new Map();
    for (const [event, message, optional] of this.data.halts) {
      this.haltAt.set(this.stepOfLine(this.line[event]), { message, optional });
    }
    this.haltSteps = Int32Array.from([...this.haltAt.keys()].sort((a, b) => a - b));
  }

  findNear(near) {
    this.near = null;
    if (near === null) return;
    const distance = new Float64Array(this.count).fill(NaN);
    const pairs = new Array(this.count);
    const values = numbers(near.distance);
    const pair = texts(near.pair);
    numbers(near.event).forEach((event, at) => { distance[event] = values[at]; pairs[event] = pair(at); });
    this.near = { limit: near.limit, distance, pairs };
  }

  findStrokes(strokes) {
    this.strokeEvent = numbers(strokes.event);
    this.strokeBore = numbers(strokes.bore);
    this.strokeDiameter = numbers(strokes.diameter);
    this.strokeStage = numbers(strokes.stage);
    this.cuts = this.data.bores.map(() => []);
    this.strokeEvent.forEach((event, at) => {
      const cut = { event, diameter: this.strokeDiameter[at], stage: this.strokeStage[at] };
      if (cut.stage !== STAGE.air && this.cutsForward(event)) this.cuts[this.strokeBore[at]].push(cut);
    });
  }

  /** Whether an event feeds the way the bar points. */
  cutsForward(event) {
    const gone = (this.end[0][event] - this.start[0][event]) * this.data.way;
    return this.kind[event] === KIND.feed && gone > 0;
  }

  stepStart(step) { return this.from[this.stepFirst[step]]; }

  stepEnd(step) { return this.from[this.stepFirst[step + 1]]; }

  /** The step of a line, or of the nearest line before it that is one. */
  stepOfLine(line) { return Math.max(0, countBelow(this.stepLine, line, true) - 1); }

  /** The step a time falls in, the last where several do. */
  stepAtTime(time) {
    const event = Math.min(this.count - 1, Math.max(0, countBelow(this.from, time, false) - 1));
    let step = this.stepOfLine(this.line[event] ?? 0);
    while (step + 1 < this.steps && this.stepEnd(step) <= time && this.stepStart(step + 1) <= time) step += 1;
    return step;
  }

  /** What the control does at a line, in words. */
  words(line) {
    const pieces = this.pattern(line - 1);
    if (pieces.length === 1) return pieces[0];
    const figures = this.figures(line - 1).split(" ");
    return pieces.map((piece, at) => piece + (figures[at] ?? "")).join("");
  }

  /** The program a line belongs to, counted from 1, and the line in it. */
  place(line) {
    const program = countBelow(this.data.starts, Math.max(line, 1));
    return [program, line - this.data.starts[program - 1]];
  }

  /** The event at a moment; -1 before the first. */
  eventAt(step, time) {
    let event = this.stepFirst[step + 1] - 1;
    while (event >= this.stepFirst[step] && this.from[event] > time) event -= 1;
    if (event > this.stepFirst[step] && this.seconds[event] > 0 && this.from[event] === time) event -= 1;
    return event;
  }

  /** The machine at a moment: place of every axis (NaN where not known), event, and how much of it is done. */
  state(step, time) {
    const event = this.eventAt(step, time);
    if (event < 0) return { event, done: 1, at: [NaN, NaN, NaN], moving: false };
    const seconds = this.seconds[event];
    const done = seconds > 0 ? Math.min(1, Math.max(0, (time - this.from[event]) / seconds)) : 1;
    const at = this.end.map((end, axis) => {
      const start = this.start[axis][event];
      return done === 1 || Number.isNaN(start) ? end[event] : start + (end[event] - start) * done;
    });
    return { event, done, at, moving: event >= this.stepFirst[step] && this.kind[event] <= KIND.feed };
  }
}
