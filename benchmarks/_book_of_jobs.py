"""
A workshop with many jobs, and how long its pages take: run as a program of its own, prints JSON.

The rows go in by the thousand, past the use cases: this is about reading them. One job in a hundred is still
open, as at a bench with a long past; every job has findings, work, price lines and a diary.

The time is the processor's, not the clock's: the book lies in memory after a moment, and what else the
machine does must not count.
"""

from __future__ import annotations

import json
import os
import random
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from typing import Any

REQUESTS = 60
WORDS = [
    "haze",
    "oil",
    "film",
    "pinhole",
    "cellar",
    "slow",
    "train",
    "fungus",
    "dent",
    "torn",
    "curtain",
    "lubricant",
    "seal",
    "mirror",
    "bellows",
]
PARTS = [
    "shutter blades",
    "slow train",
    "diaphragm blades",
    "front element",
    "bellows corners",
    "light seals",
]


def main(count: int) -> None:
    with tempfile.TemporaryDirectory(prefix="pegwood-benchmark-") as folder:
        os.environ["PEGWOOD_WORKSHOP"] = folder
        os.environ["DJANGO_SETTINGS_MODULE"] = "pegwood.frame.settings"
        os.environ.pop("PEGWOOD_DATABASE_URL", None)
        import django

        django.setup()
        from pegwood.book.keeping.schema import bring_up_to_date

        bring_up_to_date()
        chance = random.Random(1887)
        fill(count, chance)
        print(json.dumps(timed(count, chance)))


def fill(count: int, chance: random.Random) -> None:
    """Put so many jobs into the book."""
    from django.db import transaction

    from pegwood.anatomy import families
    from pegwood.book.models import Camera, DiaryEntry, Finding, Job, Owner, PriceLine, SearchEntry, Work
    from pegwood.book.states import OVER, Standing

    kinds = list(families())
    open_standings = [standing for standing in Standing if standing not in OVER]
    now = datetime.now(UTC).replace(microsecond=0)

    def told(length: int) -> str:
        return " ".join(chance.choices(WORDS, k=length))

    with transaction.atomic():
        owners = Owner.objects.bulk_create(
            [
                Owner(name=f"Owner {n:05}", phone=f"0555-{n:05}", known_since=now)
                for n in range(count // 3 + 1)
            ]
        )
        cameras = Camera.objects.bulk_create(
            [
                Camera(
                    owner=owners[n // 3],
                    family=chance.choice(kinds),
                    maker="Tessaly",
                    model="Duolet",
                    serial=str(n),
                )
                for n in range(count)
            ]
        )
        rows = []
        for n, camera in enumerate(cameras):
            still_here = n >= count - max(20, count // 100)
            standing = chance.choice(open_standings) if still_here else Standing.GONE_HOME
            arrived = now - timedelta(hours=(count - n) * 6)
            rows.append(
                Job(
                    number=n + 1,
                    owner=camera.owner,
                    camera=camera,
                    standing=standing,
                    waiting_for="part" if standing is Standing.WAITING else "",
                    came_from=Standing.AGREED if standing is Standing.WAITING else "",
                    stands_since=arrived,
                    story=told(30),
                    arrived_at=arrived,
                    promised_on=(arrived + timedelta(days=chance.randrange(20, 90))).date(),
                    currency="EUR",
                    price_minor=18_000,
                )
            )
        for jobs in (Job.objects.bulk_create(rows[at : at + 2000]) for at in range(0, count, 2000)):
            many = {"by": "the bench"}
            Finding.objects.bulk_create(
                Finding(job=job, part=part, condition=told(3), grade=3, at=job.arrived_at, **many)
                for job in jobs
                for part in chance.sample(PARTS, 4)
            )
            Work.objects.bulk_create(
                Work(job=job, done=told(8), minutes=25, at=job.arrived_at, **many)
                for job in jobs
                for _ in range(3)
            )
            PriceLine.objects.bulk_create(
                PriceLine(job=job, sheet="price", position=place, what=told(4), amount_minor=6000)
                for job in jobs
                for place in range(3)
            )
            DiaryEntry.objects.bulk_create(
                DiaryEntry(
                    job=job, at=job.arrived_at, who="the bench", what="found", text=told(5), new={"grade": 3}
                )
                for job in jobs
                for _ in range(12)
            )
            SearchEntry.objects.bulk_create(
                SearchEntry(
                    job=job, title=f"{job.number} Tessaly Duolet", body=f"{job.story}\n{job.camera.serial}"
                )
                for job in jobs
            )


def timed(count: int, chance: random.Random) -> dict[str, dict[str, float]]:
    """For each page the median and the 95th percentile of its time in the server, [s]."""
    from django.db import connection
    from django.test import Client

    client = Client(headers={"host": "localhost"})
    pages: dict[str, Any] = {
        "front page": lambda: "/",
        "job card": lambda: f"/job/{chance.randrange(1, count + 1)}/",
        "search": lambda: f"/find/?q={chance.choice(WORDS)}+{chance.choice(WORDS)[:3]}",
    }
    found = {}
    for name, address in pages.items():
        took = []
        for _ in range(REQUESTS + 5):
            connection.close()  # as in the server, where every request opens the book
            asked = address()
            began = time.process_time()
            answer = client.get(asked)
            took.append(time.process_time() - began)
            if answer.status_code != 200:
                raise RuntimeError(f"{asked} answered {answer.status_code}: its time would mean nothing")
        ranked = sorted(took[5:])  # without the first few, which load templates
        found[name] = {"median": ranked[len(ranked) // 2], "p95": ranked[int(len(ranked) * 0.95)]}
    return found


if __name__ == "__main__":
    main(int(sys.argv[1]))
