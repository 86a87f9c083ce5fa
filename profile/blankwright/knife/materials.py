"""Whether the materials that a design names are of the kinds that its settings take."""

from __future__ import annotations

from blankwright.base.errors import RequestError, nearest_names, unknown
from blankwright.design.keys import BY_KEY, SETTINGS
from blankwright.design.request import Design
from blankwright.shop.own import is_own
from blankwright.shop.records import Material
from blankwright.shop.tables import MATERIALS, material, materials

_KIND_WORDS = {
    "steel": "a blade steel", "stainless": "a blade steel", "wood": "a wood", "laminate": "a laminate",
    "metal": "a metal for pins", "bone": "bone, antler or horn",
}  # fmt: skip
_STEMS: dict[str, str] = {**{kind: stem for stem, kind in MATERIALS.items()}, "stainless": "steels"}


def check_materials(design: Design) -> None:
    """Refuse a design that names a material no table knows, or one of a kind that its setting does not take.

    Raises:
        RequestError: It does; the message names the nearest three that would do and the command that lists them.
    """
    for setting in SETTINGS:
        if setting.kinds and setting.key in design.settings:
            table, word = setting.key.split(".")
            material_for(setting.key, str(design.settings[setting.key]), f"[{table}] {word}")


def material_for(key: str, name: str, where: str) -> Material:
    """Return a material that a setting takes.

    Args:
        key: The setting, such as "material.grade".
        name: The material, as a design names it.
        where: Which file, table and key name it, for messages.

    Raises:
        RequestError: As check_materials.
    """
    kinds = BY_KEY[key].kinds
    stems = list(dict.fromkeys(_STEMS[kind] for kind in kinds))
    try:
        found = material(name, where)
    except RequestError:  # the nearest that would do here, not the nearest of all
        if is_own(name):
            raise
        fit = [m.name for m in materials() if m.kind in kinds]
        listed = f"All are listed by: {' or '.join(f'blankwright tables {stem}' for stem in stems)}."
        raise unknown("material", name, fit, where, listed) from None
    if found.kind in kinds:
        return found
    near = nearest_names(name, [m.name for m in materials() if m.kind in kinds])
    hint = f" Nearest: {', '.join(near)}." if near else ""
    raise RequestError(
        f"{where}: {found.name} is {_KIND_WORDS[found.kind]}. Allowed here: {' or '.join(stems)}.{hint} "
        f"All are listed by: {' or '.join(f'blankwright tables {stem}' for stem in stems)}."
    )
