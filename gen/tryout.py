"""A post tried on the battery of jobs: what it writes is proved, and the first block that is wrong shown."""

import time
from collections.abc import Iterator
from typing import Any, Final, Literal, NamedTuple

from gen.battery import Trial, trials
from gen.pipeline import plans_of, texts_of
from gen.proof import prove
from post.finding import Finding
from post.posts import Post
from post.userfile import InputError, read_text
from post.views import CannotExpressError


class Outcome(NamedTuple):
    """What became of one job: "passed", "refused" (this post has no words for it) or "failed".

    ``programs`` counts those written for it and ``blocks`` theirs; ``why`` tells what was refused or why nothing could
    be proved; ``findings`` what a proof found.
    """

    name: str
    result: Literal["passed", "refused", "failed"]
    blocks: int
    why: str
    findings: tuple[Finding, ...]
    programs: int = 1


MOST_S: Final = 20.0
"""Longest a trial may take, looked at between jobs; posts that ship take a second."""


def outcomes(post: Post) -> Iterator[Outcome]:
    """Every job of the battery, one after the other. Raises InputError where they take too long."""
    ends = time.monotonic() + MOST_S
    for number, trial in enumerate(trials()):
        if time.monotonic() > ends:
            raise InputError(
                f"the trial takes too long: {number} of {how_many()} jobs in {MOST_S:g} s; does the template loop?",
                file=post.template,
            )
        yield _outcome(trial, post)


def how_many() -> int:
    """Jobs in the battery."""
    return len(trials())


def _outcome(trial: Trial, post: Post) -> Outcome:
    try:
        plans = plans_of(trial.job, post, walk=trial.walk)
    except InputError as error:
        return Outcome(trial.name, "refused", 0, error.problem, ())
    try:
        texts = texts_of(trial.job, post, plans, walk=trial.walk)
    except CannotExpressError as error:
        return Outcome(trial.name, "refused", 0, str(error), ())
    except InputError as error:
        return Outcome(trial.name, "failed", 0, str(error), ())
    verdict = prove(texts, trial.job, post.dialect, plans=plans, walk_through=trial.walk)
    result: Literal["passed", "failed"] = "passed" if verdict.proved else "failed"
    return Outcome(trial.name, result, verdict.timeline.blocks, "", verdict.findings, len(texts))


def facts(post: Post, tried: list[Outcome]) -> dict[str, Any]:
    """What a battery came to, ready for JSON. A post that can express nothing has not passed."""
    counts = {result: sum(one.result == result for one in tried) for result in ("passed", "refused", "failed")}
    return {
        "ok": counts["failed"] == 0 and counts["passed"] > 0,
        "post": post.name,
        **counts,
        "hint": _hint(post),
        "jobs": [
            {
                "name": one.name,
                "result": one.result,
                "programs": one.programs,
                "blocks": one.blocks,
                "why": one.why,
                "findings": [{**finding._asdict(), "message": finding.message} for finding in one.findings],
            }
            for one in tried
        ],
    }


def _hint(post: Post) -> str:
    """What a post lacks that its dialect asks for; "" where nothing is seen."""
    if post.dialect.cycles and '"bore"' not in read_text(post.template, what="template"):
        return 'dialect.toml names cycles, and program.j2 writes nothing for steps of kind "bore", as cycles does'
    return ""


def report(told: dict[str, Any]) -> str:
    """The same as a table, and the first failing block beside what was expected."""
    jobs = told["jobs"]
    width = max(len(job["name"]) for job in jobs)
    lines = [f"{job['name']:<{width}}  {job['result']:<8} {_more(job)}".rstrip() for job in jobs]
    failed = next((job for job in jobs if job["result"] == "failed"), None)
    if failed is not None:
        lines += ["", f"first failure: {failed['name']}", *_failure(failed)]
        lines += [f"  perhaps   {told['hint']}"] if told["hint"] else []
    counts = ", ".join(f"{told[result]} {result}" for result in ("passed", "refused", "failed"))
    lines += ["", f"{told['post']}: {counts}: {_verdict(told)}"]
    return "\n".join(lines)


def _more(job: dict[str, Any]) -> str:
    if job["result"] == "passed":
        return f"{job['blocks']:>4} blocks"
    if job["result"] == "refused" or not job["findings"]:
        return str(job["why"])
    first, more = job["findings"][0], len(job["findings"]) - 1
    return f"{_where(first, job)}: {first['rule']}" + (f", and {more} more" if more else "")


def _where(finding: dict[str, Any], job: dict[str, Any]) -> str:
    line = f"line {finding['line']}"
    return f"program {finding['program']}, {line}" if job["programs"] > 1 else line


def _failure(job: dict[str, Any]) -> Iterator[str]:
    if not job["findings"]:
        yield f"  {job['why']}"
        return
    first = job["findings"][0]
    yield f"  {_where(first, job)}: {first['rule']}"
    yield f"  block     {first['text'].strip()}"
    yield f"  found     {first['found']}"
    yield f"  expected  {first['expected']}"


def _verdict(told: dict[str, Any]) -> str:
    if told["ok"]:
        return "the post may be used for what it does not refuse"
    if told["failed"]:
        return "NOT to be used: mend its dialect.toml or its program.j2, and try again"
    return "NOT to be used: it can express none of the jobs"
