"""A studio in which every text a person typed is HTML, Markdown, a formula and a picture's address."""

from sqlalchemy import func, update

from catalog.glaze.analysis_sheet import AnalysisSheet
from catalog.store import Catalog
from catalog.tables import BodyRow, ConeRow, LayerRow, LineRow, LoadRow, PhotoRow, PieceRow, RecipeRow

NASTY = "<b>q</b><script>window.ran=1</script>![i](http://192.0.2.7/x.png) $x^2$ :red[r] **z** `c` "
"""The address is one of RFC 5737, kept for documentation: nobody answers there."""
CODE = "$x$*z*<b>![i](//192.0.2.7)"


def make_nasty(catalog: Catalog) -> None:
    """Append `NASTY` to every name and note of a filled catalogue, behind the checks that shorten names."""
    catalog.add_judgement("T-0005", "fault", "crazed", "present", "Ana" + NASTY, "note" + NASTY)
    catalog.casebook.set_batch("T-0005", "bucket", "bucket" + NASTY)
    catalog.casebook.set_batch("T-0005", "clay_lot", "lot" + NASTY)
    catalog.ware.set_holder("T-0005", "holder" + NASTY, note="note" + NASTY)
    sheet = AnalysisSheet("Mat" + NASTY, {"SiO2": 66.0, "Al2O3": 19.5, "K2O": 13.0}, 0.5, lot="L" + NASTY)
    catalog.workshop.add_material(sheet)
    texts = (
        (BodyRow, ("name", "notes")), (RecipeRow, ("name", "notes")), (LoadRow, ("name", "kiln", "notes")),
        (PieceRow, ("shelf", "notes")), (LayerRow, ("name",)), (PhotoRow, ("name",)), (ConeRow, ("note",)),
    )  # fmt: skip
    with catalog.database.writing() as session:
        for table, columns in texts:
            for name in columns:
                column = getattr(table, name)
                session.execute(update(table).values({name: func.coalesce(column, "") + NASTY}))
        session.execute(update(BodyRow).values(name_key=func.lower(BodyRow.name)))
        session.execute(update(RecipeRow).values(name_key=func.lower(RecipeRow.name)))
        session.execute(
            update(PieceRow).values(code=PieceRow.code + CODE, code_key=func.lower(PieceRow.code + CODE))
        )
        recipe = session.query(RecipeRow).order_by(RecipeRow.id.desc()).first()
        session.execute(
            update(LineRow).where(LineRow.recipe_id == recipe.id).values(material=LineRow.material + NASTY)
        )
