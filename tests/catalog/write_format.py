"""Write what this version's format looks like, with rows in it, to ``formats/NUMBER.sql``.

Run once when a format is new: ``python tests/catalog/write_format.py``. A dump kept is never written again.
"""

import sqlite3
import tempfile
from datetime import date
from pathlib import Path

from conftest import make_photo, make_tile

from catalog.home import DATABASE_NAME
from catalog.migrate import HEAD
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.store import Catalog


def fill(catalog: Catalog) -> None:
    white = catalog.add_body(
        "White",
        "stoneware",
        rated_cone="6",
        absorption_pct=1.8,
        facts={"body.bisque_cone": "04"},
        notes="fine grog",
    )
    for tin in (5, 7):
        lines = [
            RecipeLine("potash feldspar", 60),
            RecipeLine("whiting", 40),
            RecipeLine("tin oxide", tin, addition=True),
        ]
        moss = catalog.add_recipe("Moss", lines, cone_low="5", cone_high="6", intended=["matt"])
    load = catalog.add_load(
        "October",
        kiln="Small",
        fired_on=date(2026, 10, 19),
        cone_aimed="6",
        cones=[ConeResult("top", "8"), ConeResult("middle", "7")],
        atmosphere="oxidation",
        schedule=[Segment(80, 120, 30), Segment(150, 1215, 10)],
        facts={"firing.kiln": "electric"},
        notes="went over",
    )
    two_colours = (((40, -2, -20), 0.7), ((60, 5, 3), 0.3))
    first = PieceDraft(
        0,
        code="T-0001",
        body_id=white.id,
        layers=(Layer(None, "slip"), Layer(moss.id, "", 2, "dip", 0.6)),
        shelf="top",
        facts={"application.sg": 1.45},
        notes="rim",
    )
    photo = make_photo(make_tile(0, two_colours, {"blistered": 0.9}), make_tile(1))
    catalog.file_photo(b"first photo", photo, [first, PieceDraft(1)], load.id, {0: b"view"})
    second = make_photo(calibration="none", name="second.jpg")
    catalog.file_photo(b"second photo", second, [PieceDraft(0, code="T-0001")])
    catalog.add_judgement("T-0001", "fault", "blister", "absent", "Ana", "felt smooth")
    catalog.remove_judgement(catalog.add_judgement("T-0001", "cause", "B01_overfire", "refuted").id)
    catalog.delete_piece("T-0002")
    catalog.people.add("Ana", "keeper", passphrase="old clay under the stairs")  # noqa: S106
    catalog.people.add("Ben", "member", email="ben@example.org")
    catalog.sign_ins.by_passphrase("Ana", "old clay under the stairs")
    catalog.bench.add_bucket("Moss", gravity=1.45, mixed_on=date(2026, 10, 1))
    catalog.bench.set_stage(["T-0001"], "out", date(2026, 10, 21))


def main() -> None:
    place = Path(__file__).parent / "formats" / f"{HEAD}.sql"
    if place.exists():
        raise SystemExit(f"{place.name} is kept already")
    with tempfile.TemporaryDirectory() as home:
        with Catalog.open(home) as catalog:
            fill(catalog)
        database = sqlite3.connect(Path(home) / DATABASE_NAME)
        place.write_text("\n".join(database.iterdump()) + "\n", encoding="utf-8")
        database.close()


if __name__ == "__main__":
    main()
