"""Run a campaign of jobs, print its table, save its records.

python -m tests.campaign                          # 200 jobs
python -m tests.campaign --jobs 24 --seed 3       # a quick look
python -m tests.campaign --only warm --jobs 10    # ten jobs of one kind
python -m tests.campaign --save jobs.jsonl        # and --score jobs.jsonl later
"""

from __future__ import annotations

import argparse
import json
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from functools import partial
from pathlib import Path
from typing import Any

from tests.campaign.ask import ADVISORS
from tests.campaign.draw import KINDS, draw
from tests.campaign.ideal import Ideal, ideal
from tests.campaign.job import run
from tests.campaign.score import lines


def one_job(
    number: int, *, seed: int, only: str | None, advisor: str, eyes: bool = True
) -> dict[str, Any]:
    """Run one job; one that fails is a record too."""
    shop = draw(number, seed, only)
    with tempfile.TemporaryDirectory() as folder:
        try:
            outcome = run(shop, ADVISORS[advisor](), Path(folder) / "log", eyes=eyes)
        except Exception:
            return {
                "number": number, "seed": seed, "kind": shop.kind, "end": "failed",
                "why": traceback.format_exc().strip().splitlines()[-1],
                "trace": traceback.format_exc(), "looks": [], "reached": None,
                "target_um": shop.target_um, "u_um": shop.gauge.u_um,
                "ideal": asdict(
                    Ideal(
                        shaping=None, finishing=0, sessions=None, finishing_sessions=0
                    )
                ),
                "strokes": 0, "square_u_um": None,
            }  # fmt: skip
    best = ideal(shop, outcome.finest)
    return outcome.plain() | {"ideal": asdict(best)}


def records(args: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """Give the record of every job as it ends, in the order of their numbers."""
    job = partial(
        one_job,
        seed=args.seed,
        only=args.only,
        advisor=args.advisor,
        eyes=not args.nobody_looks,
    )
    numbers = range(args.first, args.first + args.jobs)
    if args.processes == 1:
        yield from map(job, numbers)
        return
    with ProcessPoolExecutor(args.processes) as pool:
        yield from pool.map(job, numbers)


def main(words: Sequence[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.campaign",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--jobs", type=int, default=200)
    parser.add_argument("--first", type=int, default=0, help="number of the first job")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=KINDS, help="one kind of job")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--advisor", choices=ADVISORS, default="lapping")
    parser.add_argument(
        "--save", type=Path, help="file for a line of JSON for each job"
    )
    parser.add_argument("--score", type=Path, help="score such a file, run nothing")
    parser.add_argument(
        "--nobody-looks", action="store_true", help="for scratches, though told to"
    )
    parser.add_argument("--tell", action="store_true", help="a line for each answer")
    args = parser.parse_args(words)
    if args.score is not None:
        text = args.score.read_text(encoding="utf-8")
        for line in lines([json.loads(one) for one in text.splitlines()]):
            print(line)
        return
    found = []
    for record in records(args):
        found.append(record)
        if args.tell:
            print("\n".join(told(record)), flush=True)
        if args.save is not None:
            with args.save.open("a", encoding="utf-8") as to:
                to.write(json.dumps(record, ensure_ascii=False) + "\n")
    for line in lines(found):
        print(line)


def told(one: dict[str, Any]) -> Iterator[str]:
    """Give a line for a job and one for each answer in it."""
    yield (
        f"job {one['number']} ({one['kind']}), target {one['target_um']:g}, "
        f"u {one['u_um']:.1f} µm: {one['end']} {one['why']}; {one['strokes']} strokes, "
        f"reached {one['reached']}, all-knowing {one['ideal']}"
    )
    for look in one["looks"]:
        truth, advice, rubbed = look["truth"], look["advice"], look["rubbed"]
        most = "" if rubbed is None else (
            f" after {rubbed['strokes']} {rubbed['grade']} cut {rubbed['cuts']:.2f}"
            f"{' fresh' if rubbed['fresh'] else ''}"
        )  # fmt: skip
        effects = {k: v for k, v in look["effects"].items() if v > look["u_um"]}
        yield (
            f"  {look['strokes']:5d}{most}: together {truth['together_um']:.0f} whole "
            f"{truth['whole_um']:.0f} proud {truth['proud_um']:.0f} hollow "
            f"{truth['hollow_um']:.0f} bow {truth['along_bow_um']:.0f} twist "
            f"{truth['twist_um']:.0f} {'works' if truth['works'] else 'not yet'} "
            f"{effects}"
        )
        yield (
            f"        -> {advice['action']} {advice['strokes']} {advice['grit']} "
            f"{advice['where']} signs {advice['signs']} | {advice['why'][:160]}"
        )
