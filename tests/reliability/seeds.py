"""Whole inputs that fuzzing starts from: small photos of all kinds, logs, a package, drawn labels."""

import io
import json
import sys
import zipfile
from pathlib import Path

import numpy as np
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))


def photos():
    rng = np.random.default_rng(3)
    picture = Image.fromarray(rng.integers(0, 255, (64, 96, 3), np.uint8))
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825).update({1: "N"})
    found = []
    ways = [
        ("JPEG", {}),
        ("JPEG", {"progressive": True}),
        ("PNG", {}),
        ("WEBP", {}),
        ("TIFF", {}),
        ("BMP", {}),
    ]
    for kind, more in ways:
        out = io.BytesIO()
        picture.save(out, kind, **more, **({} if kind == "BMP" else {"exif": exif.tobytes()}))
        found.append(out.getvalue())
    import pillow_heif

    out = io.BytesIO()
    pillow_heif.from_pillow(picture).save(out, quality=60)
    found.append(out.getvalue())
    return found


def logs():
    rows = range(0, 601, 20)
    return [
        b"elapsed min,kiln temp F\n" + b"".join(b"%d,%.1f\n" % (m, 68 + 3.6 * m) for m in rows),
        b"time;temperature C\r\n" + b"".join(b"%02d:%02d:00;%d,5\r\n" % (m // 60, m % 60, m) for m in rows),
        b"date\ttemp\n" + b"".join(b"2026-10-19 %02d:%02d\t%d\n" % (m // 60, m % 60, m) for m in rows),
        b"rate_c_per_h,target_c,hold_min\n100,1100,0\n60,1220,10\n",
        b"material,amount\npotash feldspar,40\nwhiting,20\nkaolin,10\nquartz,30\n",
    ]


def package(folder):
    from catalog.exchange.export import export_package
    from catalog.store import Catalog
    from tests.catalog import exchange_studio
    from tests.catalog.conftest import make_photo, make_tile

    with Catalog.open(folder / "seed") as catalog:
        exchange_studio.fill_everything(catalog, make_photo, make_tile)
        place = export_package(catalog, folder / "seed.zip", originals=True).place
    with zipfile.ZipFile(place) as archive:
        files = {name: archive.read(name) for name in archive.namelist()}
    return place.read_bytes(), files


def packed(files):
    """Zip files with their digests put right, so that what lies deeper is reached."""
    import hashlib

    told = json.loads(files["datapackage.json"])
    for resource in told["resources"]:
        if resource["path"] in files:
            resource["hash"] = "sha256:" + hashlib.sha256(files[resource["path"]]).hexdigest()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in {**files, "datapackage.json": json.dumps(told).encode()}.items():
            archive.writestr(name, data)
    return out.getvalue()


def labels():
    """Pictures with a printed label in them, (rows, cols, 3) uint8."""
    import segno

    found = []
    for code, scale in (("T-0042", 3), ("W-0007", 2)):
        out = io.BytesIO()
        segno.make(code, micro=False).save(out, kind="png", scale=scale, border=4)
        mark = np.asarray(Image.open(io.BytesIO(out.getvalue())).convert("RGB"))
        paper = np.full((140, 200, 3), 200, np.uint8)
        paper[10 : 10 + mark.shape[0], 20 : 20 + mark.shape[1]] = mark[:130, :180]
        found.append(paper)
    return found
