"""The check by a service at another address, in pieces, so that memory stays flat and what is answered is kept at once."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from itertools import islice
from typing import TYPE_CHECKING, Final

from service.many.columns_out import Cell
from service.sheets.fault import SheetError
from service.sheets.outcome import Outcome, Reader
from service.sheets.run import Judge, Step, identity_of, judged_by
from service.sheets.writers import About

if TYPE_CHECKING:
    from service.client import CheckAnswer, Client, Problem

_NO_EXTRA: Final = (
    'a check by a service needs the extra "client", which is not installed: pip install "benchgate[client]", or in a checkout '
    'pip install ".[client]". Without --server the check needs nothing more.'
)
_AT_ONCE: Final = 500
# Any prescription does: what is wanted of the answer is who made it.
_TRIED: Final = "R -1.00 DS L -1.00 DS"


@contextmanager
def there(address: str, today: date) -> Iterator[Judge]:
    """The check by the service at an address. Raises SheetError where it gives no answer."""
    try:
        from service.client import Client, ClientError
    except ImportError:
        raise SheetError(_NO_EXTRA) from None
    try:
        with Client(address) as client:
            first = client.read(_TRIED)
            made_by = first.engine
            if made_by is None:
                raise SheetError("the service does not say which rules it checks by.")
            facts: list[tuple[str, Cell]] = [("Service", _shown(address)), *judged_by(made_by, today)]
            yield Judge(
                lambda steps, reader: _outcomes(client, steps, reader),
                identity_of(made_by, today),
                About(today, facts, [one.message or "" for one in first.cautions]),
            )
    except ClientError as error:
        raise SheetError(
            f"the service at {_shown(address)} gave no answer. {error} What is done is kept; the same command goes on."
        ) from None


def _shown(address: str) -> str:
    """An address without the name and the password that may stand in it: it is printed, and written into the output."""
    scheme, mark, rest = address.rpartition("://")
    return f"{scheme}{mark}{rest.rpartition('@')[2]}"


def _outcomes(client: "Client", steps: Iterator[Step], reader: Reader) -> Iterator[tuple[Step, Outcome | None]]:
    while piece := list(islice(steps, _AT_ONCE)):
        wanted = [step.asked.document for step in piece if step.outcome is None and step.asked.document is not None]
        answers = client.check_many(wanted) if wanted else iter(())
        for step in piece:
            if step.outcome is not None or step.asked.document is None:
                yield step, step.outcome
                continue
            found = next(answers, None)
            if found is None:
                raise SheetError(f"the service gave no answer to row {step.row.number}.")
            yield step, _outcome(found[1], step, reader)


def _outcome(answer: "CheckAnswer | Problem", step: Step, reader: Reader) -> Outcome:
    from service.client import Problem

    if isinstance(answer, Problem):
        told = [(one.pointer, one.code or answer.code, one.message or "") for one in answer.errors]
        return reader.unreadable(step.row, told or [(None, answer.code, answer.detail or answer.title or "")])
    return reader.checked(step.row, answer)
