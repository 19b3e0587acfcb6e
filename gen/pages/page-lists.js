// The listing, of which only the rows in sight exist, and the lists of findings and bores.

const ROW = 22; // height of a row in pixels, as page.css has it
const SPARE = 12; // rows beyond what is in sight

/** The program's lines with words beside them; `pick` is called with a line that is clicked. */
export class Listing {
  constructor(rows, all, replay, pick) {
    this.rows = rows;
    this.all = all;
    this.replay = replay;
    this.line = 0;
    this.found = new Set(replay.data.findings.map((finding) => finding.at));
    this.drawn = [0, 0];
    all.style.height = `${replay.lines * ROW}px`;
    rows.addEventListener("scroll", () => this.draw());
    new ResizeObserver(() => this.draw()).observe(rows);
    all.addEventListener("click", (click) => {
      const row = click.target.closest(".row");
      if (row) pick(Number(row.dataset.line));
    });
  }

  row(line) {
    const { replay } = this;
    const row = document.createElement("div");
    row.className = "row";
    row.dataset.line = line;
    row.id = `line-${line}`;
    row.setAttribute("role", "option");
    row.setAttribute("aria-setsize", replay.lines);
    row.setAttribute("aria-posinset", line);
    row.style.top = `${(line - 1) * ROW}px`;
    const [, own] = replay.place(line);
    const parts = [["n", own], ["text", replay.text(line - 1)], ["says", replay.words(line)]];
    for (const [name, text] of parts) {
      const part = document.createElement("span");
      part.className = name;
      part.textContent = text;
      row.append(part);
    }
    if (this.found.has(line)) row.classList.add("found");
    this.mark(row, line === this.line);
    return row;
  }

  mark(row, current) {
    row.classList.toggle("current", current);
    row.setAttribute("aria-selected", String(current));
  }

  draw() {
    const first = Math.max(1, Math.floor(this.rows.scrollTop / ROW) - SPARE);
    const past = Math.min(this.replay.lines, first + Math.ceil(this.rows.clientHeight / ROW) + 2 * SPARE) + 1;
    if (first === this.drawn[0] && past === this.drawn[1]) return;
    this.drawn = [first, past];
    this.all.replaceChildren(...Array.from({ length: past - first }, (_, at) => this.row(first + at)));
  }

  show(line) {
    if (line === this.line) return;
    const before = document.getElementById(`line-${this.line}`);
    if (before) this.mark(before, false);
    this.line = line;
    const top = (line - 1) * ROW;
    const { scrollTop, clientHeight } = this.rows;
    if (top < scrollTop + ROW || top + 2 * ROW > scrollTop + clientHeight) {
      this.rows.scrollTop = Math.max(0, top - clientHeight / 3);
      this.draw();
    }
    const now = document.getElementById(`line-${line}`);
    if (now) this.mark(now, true);
    this.rows.setAttribute("aria-activedescendant", `line-${line}`);
  }
}

/** Make what stands in an element a button. */
export function asButton(element, label, act) {
  const button = document.createElement("button");
  button.type = "button";
  button.className = "plain";
  button.append(...element.childNodes);
  if (label) button.setAttribute("aria-label", label);
  button.addEventListener("click", act);
  element.append(button);
}
