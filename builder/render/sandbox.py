"""Templates of anybody's, run so that they end.

jinja2's sandbox keeps code and files away from a template; what it may spend is bounded here. Every
turn of a loop, every call of a macro and every block counts as a step, as do so many letters that it
puts out; values may grow to a size, and no further. What goes past a bound is a TemplateRuntimeError,
told at the template's line as any other.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sized
from functools import wraps
from typing import Any

import jinja2
from jinja2 import nodes
from jinja2.runtime import Context
from jinja2.sandbox import ImmutableSandboxedEnvironment

MOST_STEPS = 250_000  # of one page; the whole of content/ in print takes some 960
LETTERS_A_STEP = 1_024
MOST_SIZE = 10_000_000  # letters of a text, items of a list
MOST_BITS = 4_096  # of a number

_WIDTH = re.compile(r"\d{4}|\*")  # of a place in a format string: no text needs thousands
# Filters that can make much of little.
_GROWING = ("batch", "center", "indent", "join", "replace", "slice")


class _Page(jinja2.Template):
    environment: BoundedEnvironment

    def render(self, *args: Any, **kwargs: Any) -> str:
        self.environment.steps = 0
        return super().render(*args, **kwargs)


class BoundedEnvironment(ImmutableSandboxedEnvironment):
    """An environment whose templates end, and give the same page each time: what is random in
    jinja2 (the filter `random`, the function `lipsum`) is not there."""

    intercepted_binops = frozenset({"*", "**", "+", "%"})
    template_class = _Page

    def __init__(self, loader: jinja2.BaseLoader) -> None:
        self.steps = 0
        super().__init__(
            loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True,
            lstrip_blocks=True, finalize=self._put_out,
        )  # fmt: skip
        del self.globals["lipsum"], self.filters["random"]
        for name in _GROWING:
            self.filters[name] = _bounded(self.filters[name])
        self.filters["format"] = _bounded_format(self.filters["format"])
        self.filters["_sized"] = _sized
        self.filters["_spend"] = _spend

    def _put_out(self, value: Any) -> Any:
        if isinstance(value, str):
            self.spend(len(value) // LETTERS_A_STEP)
        return value

    def spend(self, steps: int) -> None:
        """Raises TemplateRuntimeError when the page has no steps left."""
        self.steps += steps
        if self.steps > MOST_STEPS:
            raise jinja2.TemplateRuntimeError("this takes too many steps, or puts out too much")

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        template = super()._parse(source, name, filename)
        for node in template.find_all((nodes.Assign, nodes.AssignBlock)):
            _bound_assignment(node)
        for body in template.find_all((nodes.For, nodes.Macro, nodes.CallBlock, nodes.Block)):
            _count_steps(body)
        return template

    def compile(self, source: Any, *args: Any, **kwargs: Any) -> Any:
        """Raises TemplateSyntaxError, also for what Python can't take: a template nested too deep."""
        try:
            return super().compile(source, *args, **kwargs)
        except (RecursionError, MemoryError, SyntaxError) as error:
            name = kwargs.get("name", args[0] if args else None)
            raise jinja2.TemplateSyntaxError("this template is nested too deep", 1, name) from error

    def call_binop(self, context: Context, operator: str, left: Any, right: Any) -> Any:
        _check_operation(operator, left, right)
        return super().call_binop(context, operator, left, right)

    def call(self, context: Context, function: Any, /, *args: Any, **kwargs: Any) -> Any:
        # The sandbox has put a function of its own round `format`.
        text = getattr(getattr(function, "__wrapped__", function), "__self__", None)
        if isinstance(text, str):
            if function.__name__ in ("format", "format_map"):
                _check_format(text)
            else:
                _check_growth(text, (*args, *kwargs.values()))
        return super().call(context, function, *args, **kwargs)


def _count_steps(node: Any) -> None:
    """Has each run through the body of a loop, macro, call or block counted, with its letters."""
    letters = sum(len(data.data) for data in node.find_all(nodes.TemplateData))
    steps = nodes.Const(1 + letters // LETTERS_A_STEP)
    step = nodes.ExprStmt(nodes.Filter(steps, "_spend", [], [], None, None))
    step.set_lineno(node.lineno)
    node.body.insert(0, step)


def _bound_assignment(node: Any) -> None:
    """Has the value of a `set`, or of the text that it captures, checked for its size."""
    inner = node.node if isinstance(node, nodes.Assign) else node.filter
    sized = nodes.Filter(inner, "_sized", [], [], None, None)
    sized.lineno = node.lineno
    if isinstance(node, nodes.Assign):
        node.node = sized
    else:
        node.filter = sized


@jinja2.pass_context  # which also keeps jinja2 from working it out once and for all
def _spend(context: Context, steps: int) -> str:
    assert isinstance(context.environment, BoundedEnvironment)
    context.environment.spend(steps)
    return ""


def _sized(value: Any) -> Any:
    _check_size(_length(value))
    return value


def _length(value: Any) -> int:
    return len(value) if isinstance(value, Sized) else 1


def _check_size(size: int) -> None:
    if size > MOST_SIZE:
        raise jinja2.TemplateRuntimeError("this value grows too large")


def _check_operation(operator: str, left: Any, right: Any) -> None:
    if isinstance(left, int) and isinstance(right, int):
        bits = {"**": left.bit_length() * max(right, 1), "*": left.bit_length() + right.bit_length()}
        if bits.get(operator, 0) > MOST_BITS:
            raise jinja2.TemplateRuntimeError("this number grows too large")
    elif operator == "*":
        _check_size(max(_length(left), left if isinstance(left, int) else 0)
                    * max(_length(right), right if isinstance(right, int) else 0))  # fmt: skip
    elif operator == "+":
        _check_size(_length(left) + _length(right))
    elif operator == "%" and isinstance(left, str):
        _check_format(left)


def _check_format(text: str) -> None:
    if _WIDTH.search(text):
        raise jinja2.TemplateRuntimeError("this format is too wide")


def _check_growth(value: Any, arguments: tuple[Any, ...]) -> None:
    """Each letter or item of the value may be followed or replaced by each argument."""
    _check_size(_length(value) * max((one if isinstance(one, int) else _length(one)
                                      for one in arguments), default=1))  # fmt: skip


def _bounded(filter_: Callable[..., Any]) -> Callable[..., Any]:
    passed = 1 if hasattr(filter_, "jinja_pass_arg") else 0  # a context stands in front

    @wraps(filter_)
    def checked(*args: Any, **kwargs: Any) -> Any:
        value, *others = args[passed:]
        _check_growth(value, (*others, *kwargs.values()))
        return filter_(*args, **kwargs)

    return checked


def _bounded_format(filter_: Callable[..., Any]) -> Callable[..., Any]:
    @wraps(filter_)
    def checked(value: str, *args: Any, **kwargs: Any) -> Any:
        _check_format(str(value))
        return filter_(value, *args, **kwargs)

    return checked
