"""Fill a catalogue so that every table has rows in it. Photos carry a place and a serial number."""

import io
from datetime import date

import numpy as np
from PIL import Image
from PIL.TiffImagePlugin import IFDRational
from sqlalchemy import select

from catalog.bench.records import GlazingDraft, LayerDraft
from catalog.card_tables import CardTeachingRow
from catalog.casebook.case import case_of
from catalog.casebook.records import Ways
from catalog.firing.bend import WitnessReading
from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.records import ConeResult, Layer, PieceDraft, RecipeLine, Segment
from catalog.tables import Base, PhotoRow
from catalog.ware.leach import WARE_CLASSES, LeachResult

SERIAL, PLACE = b"SN-4711-SECRET", IFDRational(52)


def jpeg(seed, *, private=True, size=(60, 40)):
    """A small picture, each seed another, with what a phone writes into one."""
    rng = np.random.default_rng(seed)
    out = io.BytesIO()
    exif = Image.Exif()
    if private:
        exif[0x0112] = 6
        exif.get_ifd(0x8769)[0xA431] = SERIAL.decode()
        exif.get_ifd(0x8825).update({1: "N", 2: (PLACE, PLACE, PLACE)})
    Image.fromarray(rng.integers(0, 255, (*size, 3), np.uint8)).save(out, "JPEG", exif=exif.tobytes())
    return out.getvalue()


NASTY = (
    "=HYPERLINK(1)",
    "+1",
    "-2",
    "@SUM(A1)",
    "\tx",
    "'=1",
    "'",
    "<script>alert(1)</script>",
    'a "b", c\nd',
)
"""Texts that spreadsheets compute, browsers run, or CSV trips over."""


def fill_everything(catalog, photo, tile):
    """Rows in all tables; names and notes are those of `NASTY` in turn."""
    white = catalog.add_body("White", "stoneware", rated_cone="6", absorption_pct=1.8, notes=NASTY[0])
    catalog.add_body(NASTY[7], "porcelain")
    for tin in (5, 7):
        lines = [RecipeLine("potash feldspar", 60), RecipeLine("tin oxide", tin, addition=True)]
        moss = catalog.add_recipe("=Moss", lines, cone_low="5", intended=["matt"], notes=NASTY[8])
    bisque = catalog.add_load("Bisque", "bisque", fired_on=date(2026, 10, 1))
    load = catalog.add_load(
        "October",
        kiln="Small",
        fired_on=date(2026, 10, 19),
        cones=[ConeResult("top", "8", NASTY[4]), ConeResult("middle", "7")],
        schedule=[Segment(80, 120, 30), Segment(150, 1215, 10)],
        notes=NASTY[2],
    )
    draft = PieceDraft(
        0,
        code="T-0001",
        body_id=white.id,
        layers=(Layer(None, "slip"), Layer(moss.id, "", 2, "dip", 0.6)),
        shelf="top",
        facts={"application.sg": 1.45},
        notes=NASTY[3],
    )
    two = (((40, -2, -20), 0.7), ((60, 5, 3), 0.3))
    view = jpeg(9, private=False)
    reading = photo(tile(0, two, {"blistered": 0.9}), tile(1), name=NASTY[0] + ".jpg")
    catalog.file_photo(jpeg(1), reading, [draft, PieceDraft(1)], load.id, {0: view})
    catalog.file_photo(jpeg(2), photo(calibration="none"), [PieceDraft(0, code="t-0001")])
    again = photo(tile(0, two), method={"marks": 99})
    catalog.file_photo(jpeg(2), again, [PieceDraft(0, code="T-0001")], views={0: view})
    catalog.reserve_codes(5)
    case = case_of(catalog, "T-0001")
    trial = next(t for t in case.diagnosis.next_trials if t.plan is not None)
    catalog.casebook.plan_trial("T-0001", case.diagnosis, trial.about)
    word = case.diagnosis.causes[0].pair_id
    catalog.casebook.keep_word("T-0001", "blister", word, "confirmed", case.plain_facts, by="@Ben")
    catalog.add_judgement("T-0001", "fault", "blister", "absent", "+Ana", NASTY[1])
    catalog.remove_judgement(catalog.add_judgement("T-0001", "fault", "crazing", "present").id)
    catalog.delete_piece("T-0002")
    book = catalog.casebook
    book.set_ways(Ways(studio="Attic"))
    book.set_glaze_effects("=Moss", ["crazed"])
    book.set_batch("T-0001", "bucket", "=blue bucket")
    book.answer("T-0001", "application.coats", 3, certainty=0.8, by="Ana")
    book.answer("T-0001", "application.method", "dip")
    book.take_back("T-0001", "application.method")
    figure = LeachResult("lead", 0.1, "mg/L", "ASTM C738", "A laboratory", True, date(2026, 11, 1))
    book.add_leach("T-0001", figure, ware=WARE_CLASSES[0], region="eu", note="=note")
    for oxide in (66.0, 67.0):
        sheet = AnalysisSheet("Feldspar", {"SiO2": oxide, "Al2O3": 19.5, "K2O": 13.0}, 0.5, lot="=B7")
        catalog.workshop.add_material(sheet)
    catalog.workshop.add_body_measure(white.id, "absorption", {"weighings": [[50, 51, None]]}, note="-")
    log = b"elapsed min,kiln temp C\n" + b"".join(b"%d,%d\n" % (m, 20 + 2 * m) for m in range(0, 601, 5))
    catalog.workshop.keep_log(load.id, log, "-log.csv")
    catalog.workshop.set_witnesses(load.id, [WitnessReading("top", "6", 90.0)])
    catalog.workshop.set_bisque(load.id, bisque.id)
    with catalog.database.writing() as session:
        taught = {"layout": "A6", "patches": [[1, 2, 3]]}
        photo_row = session.scalars(select(PhotoRow)).first()
        session.add(
            CardTeachingRow(
                layout="A6",
                taught_on=date(2026, 11, 2),
                card=taught,
                photo_sha256=photo_row.sha256,
                removed_at=None,
            )
        )
    bench = catalog.bench
    blue = bench.add_bucket("=Moss", gravity=1.45, mixed_on=date(2026, 11, 1), note="=tub")
    colour = bench.add_bucket("Cobalt brushing colour", kind="underglaze", code="U-1")
    bench.glaze(
        GlazingDraft(
            (LayerDraft(colour.code, "brush", 3), LayerDraft(blue.code, "dip", 1, 3.0)),
            ("T-0001",),
            new=2,
            body_id=white.id,
            foot_wiped=True,
            foot_gap_mm=8.0,
            photo=jpeg(31),
            note="+evening",
        )
    )
    bench.set_stage(["T-0001"], "fired", date(2026, 11, 20))
    bench.crack_seen(["T-0001"], "drying")
    bench.lose(["T-0001"], "out", "cracked", note="@rim")
    bench.undo("loss")
    catalog.ware.set_holder("T-0001", "A neighbour", since=date(2026, 11, 20), note="=blue mug")
    catalog.ware.set_places({"T-0001": ("top", "left")})


def row_counts(catalog):
    with catalog.database.engine.connect() as connection:
        return {
            table.name: connection.exec_driver_sql(f'SELECT count(*) FROM "{table.name}"').scalar()  # noqa: S608
            for table in Base.metadata.sorted_tables
            if not table.name.startswith("change_")  # the log says what was done here
        }
