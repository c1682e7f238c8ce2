"""A few sizes to begin with, named by their measures; a shop changes and removes them as it likes."""

from typing import Any

from django.db import migrations

#: paper, width, height, columns, rows, left, top, gap across, gap down
SHEETS = [
    ("A4", "70", "37", 3, 8, "0", "0.5", "0", "0"),
    ("A4", "105", "74", 2, 4, "0", "0.5", "0", "0"),
    ("A4", "60", "30", 3, 9, "10", "9.5", "5", "1"),
    ("A4", "35", "20", 5, 14, "12.5", "8.5", "2.5", "0"),
    ("letter", "60", "30", 3, 8, "12.95", "15.7", "5", "1"),
]
ROLLS = [("50", "25"), ("30", "15"), ("12", "12")]


def begin(apps: Any, schema_editor: Any) -> None:
    sizes = apps.get_model("papers", "LabelSize").objects.using(schema_editor.connection.alias)
    for paper, width, height, columns, rows, left, top, gap_x, gap_y in SHEETS:
        sizes.create(
            title=f"{width} x {height} mm, {columns * rows} a sheet ({paper})",
            kind="sheet",
            paper=paper,
            width_mm=width,
            height_mm=height,
            columns=columns,
            rows=rows,
            left_mm=left,
            top_mm=top,
            gap_x_mm=gap_x,
            gap_y_mm=gap_y,
        )
    for width, height in ROLLS:
        sizes.create(
            title=f"{width} x {height} mm, roll", kind="roll", width_mm=width, height_mm=height
        )


class Migration(migrations.Migration):
    dependencies = [("papers", "0001_label_sizes")]
    operations = [migrations.RunPython(begin, migrations.RunPython.noop)]
