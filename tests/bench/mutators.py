"""Small faults in Python source: one operator, name, number or statement changed, all else left as it is.

Strings, docstrings, annotations, decorators, imports and `__repr__` are not touched, and nothing inside an
f-string: there stands what a message says. Tolerances stay too: a tenth more of 1e-9 is no fault.
"""

import ast
import re
from itertools import pairwise

from msgspec import Struct

COMPARE = {ast.Lt: ("<", "<=", ">="), ast.LtE: ("<=", "<", ">"), ast.Gt: (">", ">=", "<="),
           ast.GtE: (">=", ">", "<"), ast.Eq: ("==", "!="), ast.NotEq: ("!=", "=="), ast.In: ("in", "not in"),
           ast.NotIn: ("not in", "in"), ast.Is: ("is", "is not"), ast.IsNot: ("is not", "is")}
ARITHMETIC = {ast.Add: ("+", "-"), ast.Sub: ("-", "+"), ast.Mult: ("*", "/"), ast.Div: ("/", "*"),
              ast.FloorDiv: ("//", "/"), ast.Mod: ("%", "*"), ast.Pow: ("**", "*"), ast.BitOr: ("|", "&"),
              ast.BitAnd: ("&", "|")}
CALLED = {"min": "max", "any": "all", "ceil": "floor", "sin": "cos", "minimum": "maximum", "argmin": "argmax"}
CALLED |= {new: old for old, new in CALLED.items()}
SIGNLESS = {"abs", "fabs"}
TOLERANCE = 1e-4
JOINED = (ast.JoinedStr, ast.List, ast.Tuple, ast.ListComp)     # + and * join or repeat them


class Fault(Struct, frozen=True):
    """Bytes `start` to `end` of a source become `after`.

    `lines` are first and last line whose run reaches it; what runs at import binds `names`.
    """

    kind: str
    function: str                       # qualified, empty at the top of the file
    line: int                           # 1-based
    start: int
    end: int
    before: str
    after: str
    lines: tuple[int, int]
    names: tuple[str, ...] = ()

    @property
    def change(self) -> str:
        """What becomes what, on one line."""
        before, after = (" ".join(text.split()) for text in (self.before, self.after))
        return f"{before if len(before) < 60 else before[:57] + '...'} -> {after[:60]}"


def faults(source: bytes) -> list[Fault]:
    """Return every fault of a Python source, in the order of the text. A few do not compile."""
    finder = _Finder(source)
    finder.visit(ast.parse(source))
    return sorted(finder.found, key=lambda fault: (fault.start, fault.end, fault.after))


def applied(source: bytes, fault: Fault) -> bytes:
    """Return the source with one fault in it."""
    return source[:fault.start] + fault.after.encode() + source[fault.end:]


def compiles(source: bytes) -> bool:
    """Is this Python?"""
    try:
        compile(source, "fault", "exec")
    except SyntaxError:
        return False
    return True


def code_lines(source: bytes) -> int:
    """Return how many lines hold code: no blank lines, comments, docstrings."""
    tree = ast.parse(source)
    texts = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and _is_text(node.value)}
    texts |= {id(node) for node in ast.walk(tree) if isinstance(node, ast.Expr) and id(node.value) in texts}
    return len({node.lineno for node in ast.walk(tree) if hasattr(node, "lineno") and id(node) not in texts})


def _is_text(node) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str) or isinstance(node, ast.JoinedStr)


class _Finder(ast.NodeVisitor):
    """Walks a tree and gathers faults; a method per kind of node."""

    def __init__(self, source: bytes):
        self.source = source
        self.starts = [0]
        for line in source.splitlines(keepends=True):
            self.starts.append(self.starts[-1] + len(line))
        self.path, self.inside, self.statement, self.reached, self.found = [], False, None, None, []

    # Where things stand

    def start(self, node) -> int:
        return self.starts[node.lineno - 1] + node.col_offset

    def end(self, node) -> int:
        return self.starts[node.end_lineno - 1] + node.end_col_offset

    def text(self, node) -> str:
        return self.source[self.start(node):self.end(node)].decode()

    def add(self, kind, node, after, start=None, end=None):
        """Note that `node`, or the bytes from `start` to `end` in it, becomes `after`."""
        start = self.start(node) if start is None else start
        end = self.end(node) if end is None else end
        line = self.source.count(b"\n", 0, start) + 1
        names = () if self.inside else (*_bound(self.statement), *self.path[-1:])
        lines = self.reached or (node.lineno, node.end_lineno)
        before = self.source[start:end].decode()
        self.found.append(Fault(kind, ".".join(self.path), line, start, end, before, after, lines, names))

    def between(self, kind, node, left, right, old, *new):
        """Note that the operator `old` between two operands of `node` becomes each of `new`."""
        gap = self.source[self.end(left):self.start(right)]
        gap = re.sub(rb"#[^\n]*", lambda comment: b" " * len(comment[0]), gap)
        place = re.search(re.escape(old).replace(r"\ ", r"\s+").encode(), gap)
        for kind_of, after in zip((kind, "turned"), new, strict=False):
            self.add(kind_of, node, after, self.end(left) + place.start(), self.end(left) + place.end())

    # What is gone into

    def visit(self, node):
        if isinstance(node, ast.stmt):
            outer, self.statement = self.statement, node
            super().visit(node)
            self.statement = outer
        else:
            super().visit(node)

    def visit_FunctionDef(self, node):
        if node.name == "__repr__":
            return
        self.path.append(node.name)
        inside, self.inside = self.inside, True
        self.reached = (node.body[0].lineno, node.end_lineno)   # a default counts wherever the function runs
        for default in filter(None, (*node.args.defaults, *node.args.kw_defaults)):
            self.visit(default)
        self.reached = None
        self.each(node.body)
        self.inside = inside
        self.path.pop()

    def visit_ClassDef(self, node):
        self.path.append(node.name)
        self.each(node.body)
        self.path.pop()

    def each(self, nodes):
        for node in nodes:
            self.visit(node)

    def visit_Import(self, node):
        pass

    visit_ImportFrom = visit_JoinedStr = visit_Import

    def visit_AnnAssign(self, node):
        if node.value:
            self.visit(node.value)

    # Faults

    def visit_Compare(self, node):
        for left, operator, right in zip((node.left, *node.comparators), node.ops, node.comparators, strict=False):
            self.between("comparison", node, left, right, *COMPARE[type(operator)])
        self.generic_visit(node)

    def visit_BinOp(self, node):
        texts = any(_is_text(side) or isinstance(side, JOINED) for side in (node.left, node.right))
        union = isinstance(node.op, ast.BitOr) and not self.inside         # of types
        if type(node.op) in ARITHMETIC and not texts and not union:
            self.between("arithmetic", node, node.left, node.right, *ARITHMETIC[type(node.op)])
        self.generic_visit(node)

    def visit_AugAssign(self, node):
        if type(node.op) in ARITHMETIC and not _is_text(node.value):
            self.between("arithmetic", node, node.target, node.value, *ARITHMETIC[type(node.op)])
        self.add("dropped", node, "pass")
        self.visit(node.value)

    def visit_BoolOp(self, node):
        words = ("and", "or") if isinstance(node.op, ast.And) else ("or", "and")
        for left, right in pairwise(node.values):
            self.between("logic", node, left, right, *words)
        self.generic_visit(node)

    def visit_UnaryOp(self, node):
        length = {ast.Not: 3, ast.USub: 1}.get(type(node.op))
        if length:
            self.add("not" if length == 3 else "sign", node, "", end=self.start(node) + length)
        self.generic_visit(node)

    def visit_Call(self, node):
        name = getattr(node.func, "attr", getattr(node.func, "id", ""))
        if name in CALLED:
            self.add("function", node.func, CALLED[name], start=self.end(node.func) - len(name))
        if name in SIGNLESS:
            self.add("abs", node.func, "")
        self.generic_visit(node)

    def visit_Constant(self, node):
        value, kind = node.value, "number" if self.inside else "size"       # a size has a name or a field
        if isinstance(value, bool):
            self.add("switch", node, str(not value))
        elif isinstance(value, int):
            step = max(1, round(abs(value) / 10))
            for other in {0: (1,), 1: (0, 2)}.get(value, (value - step, value + step)):
                self.add(kind, node, str(other))
        elif isinstance(value, float) and (value == 0.0 or abs(value) >= TOLERANCE):
            for factor in (0.9, 1.1):
                self.add(kind, node, repr(float(f"{factor * value:.6g}")) if value else "1.0")

    def visit_Subscript(self, node):
        self.visit(node.value)
        place = {"0": "-1", "1": "0", "-1": "0"}.get(self.text(node.slice))
        if place:
            self.add("index", node.slice, place)
        else:
            self.visit(node.slice)

    def visit_Return(self, node):
        if isinstance(node.value, ast.Tuple) and len(node.value.elts) > 1:
            one, other, *_ = node.value.elts
            self.add("order", one, f"{self.text(other)}, {self.text(one)}", end=self.end(other))
        self.generic_visit(node)

    def condition(self, node):
        """Note that a test that no other fault turns round is turned round."""
        for test in [node.test] if hasattr(node, "test") else node.ifs:
            if not isinstance(test, (ast.Compare, ast.BoolOp, ast.UnaryOp)):
                self.add("condition", test, f"not ({self.text(test)})")
        self.generic_visit(node)

    visit_If = visit_IfExp = visit_While = visit_comprehension = condition

    def visit_Expr(self, node):
        if self.inside and isinstance(node.value, (ast.Yield, ast.YieldFrom)):
            self.add("dropped", node, "yield from ()")      # still a generator
        elif self.inside and isinstance(node.value, ast.Call):
            self.add("dropped", node, "pass")
        self.generic_visit(node)

    def visit_Assign(self, node):
        if all(isinstance(target, (ast.Attribute, ast.Subscript)) for target in node.targets):
            self.add("dropped", node, "pass")
        self.generic_visit(node)

    def visit_Raise(self, node):
        self.add("dropped", node, "pass")

    visit_Break = visit_Continue = visit_Delete = visit_Raise


def _bound(statement):
    """Yield the names that a statement at the top of a file or class gives."""
    targets = getattr(statement, "targets", [getattr(statement, "target", None)])
    for node in (node for target in targets if target for node in ast.walk(target)):
        if isinstance(node, (ast.Name, ast.Attribute)):
            yield getattr(node, "id", getattr(node, "attr", ""))
