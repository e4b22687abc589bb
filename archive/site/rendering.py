"""From plain page data to HTML: the only module that knows Jinja2.

Everything a record says is escaped; no page holds a script or a style of its own.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from functools import cache
from typing import Any

import jinja2
from jinja2.compiler import CodeGenerator, Frame
from jinja2.nodes import Call, Expr, Getattr, Template
from markupsafe import Markup, escape

from archive.resources import SITE_TEMPLATES
from archive.site import figures

PAGES = SITE_TEMPLATES / "pages"

_NEEDS_ESCAPING = re.compile("[&<>\"']").search


@dataclass(frozen=True)
class SiteFacts:
    """What every page says: whose collection it is and in which language it is kept."""

    name: str
    holder: str
    language: str
    credit_line: str


class Renderer:
    """Turns page data into the bytes of a page."""

    def __init__(self, site: SiteFacts) -> None:
        self._site = site
        self._pieces: dict[tuple[str, str, object], Markup] = {}

    def __reduce__(self) -> tuple[object, ...]:
        """Another process writes its own parts."""
        return Renderer, (self._site,)

    def render(self, template: str, path: str, **told: Any) -> bytes:
        """The page at `path`; links in it start from there."""
        root = Markup("../") * path.count("/")

        def piece(name: str, about: object) -> Markup:
            return self._piece(name, about, root)

        page = _template(template).render(
            site=self._site, root=root, path=path, piece=piece, **told
        )
        return page.encode("utf-8")

    def _piece(self, name: str, about: object, root: str) -> Markup:
        """A part that stands on many pages and is written once, such as a card in a list."""
        key = (name, root, about)
        if key not in self._pieces:
            written = _template(f"pieces/{name}.html").render(
                site=self._site, root=root, about=about
            )
            self._pieces[key] = Markup(written)
        return self._pieces[key]


class _LeanCode(CodeGenerator):
    """Writes templates that do without detours of Jinja2's, taken hundreds of times a page.

    It makes an object of safe text for each word on a page, only to join them all; here words
    without special signs are passed on as they are, and everything else is escaped as ever.
    And it asks for `page.title` in a way that serves dictionaries too, and calls macros in a way
    that serves functions that ask for the page; pages are told in plain objects, so here both
    is done as Python does. Together that was more than half of the time of building a site
    (benchmarks/publishing.py).
    """

    def visit_Template(self, node: Template, frame: Frame | None = None) -> None:  # noqa: N802
        super().visit_Template(node, frame)
        self.writeline("safe = environment.escape_where_needed")

    def visit_Call(self, node: Call, frame: Frame, forward_caller: bool = False) -> None:  # noqa: N802
        if forward_caller or node.kwargs or node.dyn_args or node.dyn_kwargs:
            super().visit_Call(node, frame, forward_caller)
            return
        self.visit(node.node, frame)
        self.write("(")
        for argument in node.args:
            self.visit(argument, frame)
            self.write(", ")
        self.write(")")

    def visit_Getattr(self, node: Getattr, frame: Frame) -> None:  # noqa: N802
        self.visit(node.node, frame)
        self.write(f".{node.attr}")

    def _output_child_pre(self, node: Expr, frame: Frame, finalize: Any) -> None:
        if frame.eval_ctx.volatile or not frame.eval_ctx.autoescape or finalize.src is not None:
            super()._output_child_pre(node, frame, finalize)
        else:
            self.write("safe(")


class _Environment(jinja2.Environment):
    code_generator_class = _LeanCode

    @staticmethod
    def escape_where_needed(value: Any) -> str:
        """The value as safe text."""
        kind = type(value)
        if (kind is str and not _NEEDS_ESCAPING(value)) or kind is Markup:
            return value  # type: ignore[no-any-return]
        return escape(value)


@cache
def _environment() -> jinja2.Environment:
    environment = _Environment(
        loader=jinja2.FileSystemLoader(PAGES, encoding="utf-8"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,
    )
    to_json = json.JSONEncoder(sort_keys=True).encode
    environment.policies["json.dumps_function"] = lambda value, **_: to_json(value)
    environment.globals.update(counted=figures.counted)
    parts: Any = environment.get_template("parts.html").module
    environment.globals.update(parts=parts, level=cache(parts.level))
    return environment


@cache
def _template(name: str) -> jinja2.Template:
    template = _environment().get_template(name)
    template.globals = dict(template.globals)  # a chain of them is slow to copy for each page
    return template
