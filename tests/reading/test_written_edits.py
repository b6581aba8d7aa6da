"""One slip of the finger never yields another accepted prescription, unless the text then really says so.

Kinds that remain, all of them judged by `written_edits.why_it_says_so` and none of them the reader's doing: the edited
text is another well-formed text. Nobody can tell -2.25 typed as -2.75 from a true -2.75; what guards against it is that the
form shows the figures again. They are

canonical line   the edit leaves a line in the strict canonical spelling with another figure, sign or base;
figure changed   the same in a free spelling: a digit exchanged, dropped or doubled within one figure;
sign changed     + for - or the other way round;
word changed     one base for another (BU for BD).

The counts, with an example of each kind, are printed: run with `pytest -s`. BENCHGATE_EDITS sets how many are tried.
"""

import os
from collections import Counter
from random import Random

from written_answers import accepted
from written_edits import OPERATIONS, edited, why_it_says_so
from written_spellings import canonical, random_pair, spelling

EDITS = int(os.environ.get("BENCHGATE_EDITS", "12000"))
_EDITS_OF_EACH = 40


def test_one_slip_never_yields_another_accepted_prescription_that_the_text_does_not_say() -> None:
    random = Random(3)
    tried: Counter[str] = Counter()
    kinds: Counter[str] = Counter()
    examples: dict[str, str] = {}
    misread: list[str] = []
    while tried.total() < EDITS:
        pair = random_pair(random)
        text = spelling(pair, random) if random.random() < 0.6 else canonical(pair)
        was = accepted(text)
        if was is None:
            continue
        for _ in range(_EDITS_OF_EACH):
            after, kind = edited(text, random)
            tried[kind.split()[0]] += 1
            now = accepted(after)
            if now is None or now == was:
                continue
            reason = why_it_says_so(text, after, was, now)
            name = f"{reason}: {kind}" if reason else f"MISREAD: {kind}"
            kinds[name] += 1
            examples.setdefault(name, f"{text!r} -> {after!r}")
            if reason is None:
                misread.append(f"{kind}: {text!r} -> {after!r} read as {now}")
    total = tried.total()
    print(f"\n{total} edits; another accepted prescription in {kinds.total()} ({kinds.total() / total:.2%}),")
    print(f"of which the text does not say so in {len(misread)} ({len(misread) / total:.3%})")
    for name, count in kinds.most_common():
        print(f"{count:6}  {name}  e.g. {examples[name]}")
    assert set(tried) == set(OPERATIONS)
    assert not misread, "\n".join([f"{len(misread)} silent misreads", *misread[:40]])
