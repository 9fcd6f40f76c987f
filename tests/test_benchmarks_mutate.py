"""The small changes that tests must notice: what is changed, and that it is changed."""

from __future__ import annotations

from benchmarks.mutate import CHANGED, ROOT, TESTS, changes_of
from benchmarks.mutations import mutations

TEXT = '''
"""What a module says is no code."""

__all__ = ["Kept"]

MOST = 3


class Kept:
    """Nor is this."""

    @property
    def even(self) -> list[int]:
        return [n for n in self.numbers if n < MOST and not n % 2]

    def add(self, number: int) -> None:
        self.numbers.append(number)
'''


def test_every_small_change_is_made_once() -> None:
    assert [str(each) for each in mutations(TEXT, "text.py")] == [
        "6 module: 'MOST = 3' => 'MOST = None'",
        "6 module: '3' => '4'",
        "6 module: '3' => '2'",
        "14 Kept.even: 'return [n for n in self.numbers if n < MOST and (not n % 2)]' => 'return'",
        (
            "14 Kept.even: ' for n in self.numbers if n < MOST and (not n % 2)'"
            " => ' for n in self.numbers'"
        ),
        "14 Kept.even: 'n < MOST and (not n % 2)' => 'not n % 2'",
        "14 Kept.even: 'n < MOST and (not n % 2)' => 'n < MOST'",
        "14 Kept.even: 'And' => 'Or'",
        "14 Kept.even: 'Lt' => 'LtE'",
        "14 Kept.even: 'not n % 2' => 'n % 2'",
        "14 Kept.even: '2' => '3'",
        "14 Kept.even: '2' => '1'",
        "17 Kept.add: 'self.numbers.append(number)' => 'pass'",
        "17 Kept.add: 'self.numbers.append(number)' => 'self.numbers.append(None)'",
    ]


def test_a_change_is_in_the_code_of_its_function_alone() -> None:
    scope: dict[str, type] = {}
    exec(compile(TEXT, "text.py", "exec"), scope)  # noqa: S102 (our own)
    kept = scope["Kept"]()
    kept.numbers = [0, 1, 2, 3, 4, 6]
    even = vars(scope["Kept"])["even"].fget
    plain, found = even.__code__, []
    for each in mutations(TEXT, "text.py"):
        if each.owner == "Kept.even":
            assert (each.code.co_qualname, each.code.co_firstlineno) == (
                *(plain.co_qualname, plain.co_firstlineno),
            )
            even.__code__ = each.code
            found.append(kept.even)
    every, small, even_ones = [0, 1, 2, 3, 4, 6], [0, 1, 2], [0, 2, 4, 6]
    assert found == [None, every, even_ones, small, [*small, 4, 6], [0, 2], [1], [0], [0, 1, 2]]


def test_what_is_changed_and_the_tests_for_it_are_there() -> None:
    assert [path for path in CHANGED if not (ROOT / path).exists()] == []
    for test in TESTS:
        path, _, name = test.partition("::")
        assert f"def {name or 'test_'}" in (ROOT / path).read_text("utf-8"), test
    some = changes_of(["prices:Kn", "tiers_of"])
    assert {each.owner for _, each in some} == {"tiers_of"}
    assert {path for path, _ in some} == {"knobpack/definition/prices.py"}
