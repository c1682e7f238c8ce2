"""`combwright layouts`: the catalogue."""

import typer

from combwright.cli.inputs import AsJson, say_json


def layouts(as_json: AsJson = False) -> None:
    """List the layouts of the catalogue: what each changes, and what it is good for."""
    from combwright.comb.catalogue import aliases, catalogue_layout, layout_ids

    others: dict[str, list[str]] = {}
    for alias, name in aliases().items():
        others.setdefault(name, []).append(alias)
    found = [(name, catalogue_layout(name)) for name in layout_ids()]
    if as_json:
        entries = [
            {"id": name, "aliases": others.get(name, []), "title": each.title, "about": each.about}
            for name, each in found
        ]
        say_json({"schema": 1, "layouts": entries})
        return
    for name, each in found:
        also = f" (also: {', '.join(others[name])})" if name in others else ""
        typer.echo(f"{name}{also}")
        typer.echo(f"    {each.title}. {each.about}")
