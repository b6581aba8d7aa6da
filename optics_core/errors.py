"""The one error of this package: a number that a formula cannot answer for.

Every formula holds in a stated range. Outside it no number is returned: the caller is told which
argument was outside, what was expected there and what was read. There are no sign conventions here.
"""

from __future__ import annotations

import reprlib


class DomainError(ValueError):
    """An argument lies outside the range in which a formula holds.

    Attributes
    ----------
    argument : str
        Name of the argument, as the function spells it.
    rule : str
        A sentence that says what is expected.
    value : object
        What was read; of an array, the first value that breaks the rule.
    """

    argument: str
    rule: str
    value: object

    def __init__(self, argument: str, rule: str, value: object) -> None:
        super().__init__(argument, rule, value)
        self.argument = argument
        self.rule = rule
        self.value = value

    def __str__(self) -> str:
        return f"{self.argument}: {reprlib.repr(self.value)} was read. {self.rule}"
