"""An outline from a thing that exists, the family that lies nearest to it, and a blade held against its design."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from blankwright.base.errors import RequestError
from blankwright.base.frozen import dataclass
from blankwright.commands.shared import OutOption, SetOption, Shown, designs_from, grouped, print_json, say

if TYPE_CHECKING:
    from blankwright.lift.run import Request


@dataclass(frozen=True)
class Source:
    """What is said of a file that shows a thing."""

    dpi: Annotated[float | None, typer.Option("--dpi", metavar="N", help="Dots to the inch of a picture.")] = None
    measured_x: Annotated[
        str | None,
        typer.Option(
            "--measured-x",
            metavar="LENGTH",
            help="Measured across the picture: a 100 mm bar in it, the frame's level bar, or the thing itself as it "
            "stands lowest on a flat board.",
        ),
    ] = None
    measured_y: Annotated[
        str | None, typer.Option("--measured-y", metavar="LENGTH", help="The same down the picture.")
    ] = None
    tip: Annotated[
        str | None, typer.Option("--tip", metavar="left|right", help="Where the tip is seen, if it is not found.")
    ] = None
    edge: Annotated[
        str | None, typer.Option("--edge", metavar="down|up", help="Where the edge is seen, if it is not found.")
    ] = None
    layer: Annotated[
        list[str] | None,
        typer.Option("--layer", metavar="NAME", help="Layer of a drawing with the outline. Repeatable."),
    ] = None
    page: Annotated[int, typer.Option("--page", metavar="N", help="Page of a PDF.")] = 1
    reading: Annotated[
        str | None,
        typer.Option("--reading", metavar="LENGTH", help="What each measured point may be off.  [default: 0.5mm]"),
    ] = None
    frame: Annotated[
        str | None, typer.Option("--frame", metavar="PAPER", help="A photo in a frame printed on this paper.")
    ] = None
    thick: Annotated[
        str | None, typer.Option("--thickness", metavar="LENGTH", help="With --frame: how thick the thing is.")
    ] = None
    camera_height: Annotated[
        str | None,
        typer.Option("--camera-height", metavar="LENGTH", help="With --frame: lens above the paper, if measured."),
    ] = None

    def request(self, file: Path, name: str | None = None) -> Request:
        """Return what is asked of a lift.

        Raises:
            RequestError: As request of the lift.
        """
        from blankwright.lift.run import request

        return request(
            file,
            name=name,
            dpi=self.dpi,
            measured_x=self.measured_x,
            measured_y=self.measured_y,
            tip=self.tip,
            edge=self.edge,
            layers=tuple(self.layer or ()),
            page=self.page,
            reading=self.reading,
            frame=self.frame,
            thick=self.thick,
            camera_height=self.camera_height,
        )


@grouped
def lift(
    file: Annotated[
        Path,
        typer.Argument(
            metavar="FILE", help="A drawing (DXF, SVG), a scan or photo (PNG, JPEG, TIFF, PDF), or points (CSV)."
        ),
    ],
    *,
    source: Source,
    fit: Annotated[
        str | None,
        typer.Option(
            "--fit", metavar="FAMILY|any", help="Lay a family on it, and write the design that comes nearest."
        ),
    ] = None,
    within: Annotated[
        str | None,
        typer.Option(
            "--within", metavar="LENGTH", help="With --fit: write a family file of its own where the rest is more."
        ),
    ] = None,
    name: Annotated[
        str | None, typer.Option("--name", metavar="NAME", help="Name of the thing, and of its files.")
    ] = None,
    out: OutOption = Path("out"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite files that are there.")] = False,
    shown: Shown,
) -> None:
    """Lift an outline from a drawing, a scan or measured points."""
    from blankwright.lift.run import lift as lifted_from
    from blankwright.lift.run import lift_lines, report_of, write

    units = shown.in_words()
    if within is not None and fit is None:
        raise RequestError("--within: goes with --fit. Write --fit any, or a family's name.")
    fitting = _fitting(fit, within)
    asked = source.request(file, name)
    done = lifted_from(asked)
    fitted, more, words = None, dict[str, str | bytes](), []
    if fitting is not None:
        fitted, more, words = fitting(done.lifted.outline, asked.name, asked.slug)
    files = write(done, out / asked.slug, asked.slug, force=force, more=more)
    if shown.as_json:
        report = report_of(done) | {"fit": fitted, "files": files}
        say(json.dumps(report, indent=1, ensure_ascii=False, allow_nan=False))
        return
    for line in (*lift_lines(done), *words):
        say(line.text(units))
    for path in files:
        say(f"  wrote {path}")


def _fitting(fit: str | None, within: str | None) -> Any:
    """Return what lays a family on an outline; what was typed is read before the file is."""
    if fit is None:
        return None
    from blankwright.lift.designed import families_of, files_of, fit_lines, fit_outline, fit_within_mm, report_of

    within_mm = fit_within_mm(within)
    families_of(fit)

    def of(outline: Any, name: str, slug: str) -> Any:
        done = fit_outline(outline, name, fit, within_mm, _tell)
        return report_of(done), files_of(done, slug), fit_lines(done)

    return of


def _tell(what: str) -> None:
    """Say on the side what is tried: a fit takes seconds for each."""
    sys.stderr.write(f"  trying {what}\n")
    sys.stderr.flush()


@grouped
def compare(
    design: Annotated[str, typer.Argument(metavar="DESIGN", help="A family's name, or a design file (.toml).")],
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE", help="The ground blade: a drawing, a scan, points, or a lifted file. Several make a table."
        ),
    ],
    *,
    sets: SetOption = None,
    lay: Annotated[
        str, typer.Option("--lay", metavar="fit|heel", help="Lay it on by best fit, or by its heel and edge.")
    ] = "fit",
    source: Source,
    out: OutOption = Path("out"),
    force: Annotated[bool, typer.Option("--force", help="Overwrite pictures that are there.")] = False,
    shown: Shown,
) -> None:
    """Hold a ground blade against its design. Exit code 1 when it is short."""
    from blankwright.base.files import write_files
    from blankwright.base.onefile import refuse_taken
    from blankwright.base.plain import slug_of
    from blankwright.knife.knife import finish
    from blankwright.lift.compare import compared, comparison_lines, lay_of, refuse_shared, report_of, table_lines
    from blankwright.lift.comparepicture import comparison_svg

    units, way = shown.in_words(), lay_of(lay)
    (asked,) = designs_from([design], sets, None)
    requests = [source.request(file) for file in files]
    names = [f"{asked.slug}_compare_{slug_of(file.stem) or 'blade'}.svg" for file in files]
    for one in {n for n in names if names.count(n) > 1}:
        raise RequestError(f"FILE: two pictures would both be {one}. Give one file another name.")
    folder = out / asked.slug
    for name in names:
        refuse_taken(folder / name, force=force)
    drawing = finish(asked).finished
    ones = [compared(drawing, request, way) for request in requests]
    refuse_shared(ones)
    write_files(folder, {n: comparison_svg(one, asked.name) for n, one in zip(names, ones, strict=True)})
    paths = [(folder / name).as_posix() for name in names]
    if shown.as_json:
        print_json([report_of(one) | {"files": [path]} for one, path in zip(ones, paths, strict=True)])
    else:
        lines = table_lines(ones, units) if len(ones) > 1 else [x.text(units) for x in comparison_lines(ones[0])]
        for line in (*lines, *(f"  wrote {path}" for path in paths)):
            say(line)
    if any(one.short for one in ones):
        sys.exit(1)
