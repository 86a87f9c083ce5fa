"""The elements of an SVG file as a plain tree, with nothing fetched and nothing unfolded (XML 1.0, W3C).

Entities are taken when they are short and plain text, as some drawing programs declare their name spaces; nested or
external ones are refused: a few hundred bytes of them can stand for gigabytes, or for a file of the reader's own disk.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from xml.parsers import expat

from blankwright.base.errors import ProofError
from blankwright.inspection.budget import ENTITY, Budget

SVG = "http://www.w3.org/2000/svg"
MAX_DEPTH = 100
MAX_ENTITIES, MAX_ENTITY = 60, 500
MAX_GROWTH = 2_000_000
"""Limits: depth of the tree, declared entities and their letters, and letters beyond those of the file itself."""


@dataclass(eq=False)
class Node:
    """An element.

    Args:
        tag: Its name without the name space; "" for an element that is not of SVG.
        attributes: Its attributes, those of other name spaces by their bare name behind a colon.
        line: Its line in the file.
        children: Elements in it.
        text: What is written in it, that of its children apart.
    """

    tag: str
    attributes: dict[str, str]
    line: int
    children: list[Node] = field(default_factory=list)
    text: str = ""

    def all(self) -> Iterator[Node]:
        """Yield the element and all below it, in the order of the file."""
        stack = [self]
        while stack:
            node = stack.pop()
            yield node
            stack += reversed(node.children)


def tree_of(data: bytes, budget: Budget) -> Node:
    """Read an SVG file.

    Args:
        data: The bytes of the file.
        budget: What the work is taken from.

    Returns:
        Its root element.

    Raises:
        ProofError: It is no whole XML, no SVG, or asks for what is not followed; a sentence without the file's name.
        TooMuchWorkError: It has too many elements.
    """
    parser = expat.ParserCreate(namespace_separator=" ")
    parser.buffer_text = True
    stack: list[Node] = []
    roots: list[Node] = []
    seen = {"letters": 0, "entities": 0}

    def grown(letters: int) -> None:
        seen["letters"] += letters
        if seen["letters"] > len(data) + MAX_GROWTH:
            raise ProofError("The file unfolds to far more than it holds. Save it as plain SVG.")

    def start(name: str, attributes: dict[str, str]) -> None:
        budget.spend(ENTITY / 2, "elements")
        if len(stack) > MAX_DEPTH:
            raise ProofError(f"Line {parser.CurrentLineNumber}: elements stand in each other too deep.")
        grown(sum(map(len, attributes.values())))
        space, _, tag = name.rpartition(" ")
        plain = {(f":{k.rpartition(' ')[2]}" if " " in k else k): v for k, v in attributes.items()}
        node = Node(tag if space == SVG else "", plain, parser.CurrentLineNumber)
        (stack[-1].children if stack else roots).append(node)
        stack.append(node)

    def end(_: str) -> None:
        stack.pop()

    def letters(text: str) -> None:
        grown(len(text))
        if stack:
            stack[-1].text += text

    def entity(
        name: str, _: bool, value: str | None, _base: object, system: str | None, _p: object, _n: object
    ) -> None:
        seen["entities"] += 1
        if value is None or system is not None:
            raise ProofError(f"The file names another file (entity '{name[:40]}'); nothing else is read. Take it out.")
        if "&" in value or "%" in value or len(value) > MAX_ENTITY or seen["entities"] > MAX_ENTITIES:
            raise ProofError(f"The file declares entities that unfold (entity '{name[:40]}'). Save it as plain SVG.")

    parser.StartElementHandler, parser.EndElementHandler = start, end
    parser.CharacterDataHandler, parser.EntityDeclHandler = letters, entity
    try:
        parser.Parse(data, True)
    except expat.ExpatError as error:
        why = expat.ErrorString(error.code)
        raise ProofError(f"Line {error.lineno}: the file is no whole XML ({why}). Export it again.") from None
    except (ValueError, LookupError):  # an encoding that is not known
        raise ProofError("The file's encoding is not known. Save it as UTF-8.") from None
    if roots[0].tag != "svg":
        raise ProofError("This is no SVG drawing, or its root is not in the name space of SVG. Export it again.")
    return roots[0]
