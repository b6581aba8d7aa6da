"""What was inferred, set aside or not understood in a written prescription: a rule for each kind of remark.

The reading itself (`service.reading`) finds the places; the rules give them their gravity and their words. They are alike
but for these, so they stand here as a table.
"""

from service.contract.answer import Severity
from service.reading.text_reading import Remark
from service.rules.rule import Noticed, Rule, remark_rule

# A longer place is quoted by its beginning.
_LONGEST_QUOTE = 40


def _rule(code: str, severity: Severity, about: str, shop: str, customer: str) -> Rule:
    return remark_rule(code, severity, "house", about, shop, customer, scope="text", noticed=_noticed)


def _noticed(remark: Remark) -> Noticed:
    said = " ".join(remark.said.split())
    return Noticed(
        "/prescription/written",
        remark.eye,
        value=remark.value,
        span=remark.span,
        words={
            "said": said if len(said) <= _LONGEST_QUOTE else f"{said[:_LONGEST_QUOTE]}…",
            "whose": f"{remark.eye} eye" if remark.eye else "eye not known",
            "taken": remark.taken,
        },
    )


TEXT_RULES: tuple[Rule, ...] = (
    _rule(
        "power-unsigned",
        "reject",
        "A power without a sign.",
        'No sign stands before "{said}" ({whose}). A power is written with + or −; only 0.00 needs none. Ask for the sign; '
        "none was guessed.",
        'Please write + or − before "{said}", exactly as it stands on your prescription.',
    ),
    _rule(
        "power-without-point",
        "reject",
        "A figure without a decimal point that could mean two powers.",
        '"{said}" ({whose}) has no decimal point and could mean more than one power. Write it with the point, as in −1.25.',
        'Please write "{said}" with its decimal point, as it stands on your prescription.',
    ),
    _rule(
        "letter-for-digit",
        "reject",
        "A letter stands where a digit is expected.",
        'A letter hangs on the figure "{said}" ({whose}): l or O may stand for 1 or 0. Type the figure again.',
        'There is a letter in "{said}". Please type that number again.',
    ),
    _rule(
        "figure-not-clear",
        "reject",
        "A figure that cannot be read as one number.",
        '"{said}" ({whose}) is not one clear number. Type it again with one decimal point.',
        'We cannot read the number "{said}". Please type it again.',
    ),
    _rule(
        "sign-doubled",
        "reject",
        "Two signs before one figure.",
        'Two signs stand before the figure in "{said}" ({whose}). Keep the right one.',
        'There are two signs in "{said}". Please keep only the right one.',
    ),
    _rule(
        "same-as-other-eye",
        "reject",
        "An eye is given as the same as the other.",
        '"{said}" was read in place of a power. Write out the figures of both eyes.',
        'Please write out the numbers for both eyes instead of "{said}".',
    ),
    _rule(
        "axis-beyond-180",
        "reject",
        "An axis beyond 180 is written.",
        'Axis "{said}" was read ({whose}). An axis lies between 1 and 180. Check the figure against the prescription.',
        'The AXIS "{said}" must be a number from 1 to 180. Please check it against your prescription.',
    ),
    _rule(
        "axis-signed",
        "reject",
        "An axis is written with a sign.",
        'The axis "{said}" ({whose}) has a sign. An axis has none; a cylinder may stand in its place. Check the line.',
        'The AXIS has no + or − sign. Please check "{said}" against your prescription.',
    ),
    _rule(
        "axis-not-whole-in-text",
        "reject",
        "An axis is written with decimals.",
        'The axis "{said}" ({whose}) is not a whole number of degrees. A cylinder may stand in its place. Check the line.',
        'The AXIS should be a whole number. Please check "{said}" against your prescription.',
    ),
    _rule(
        "sphere-not-found",
        "reject",
        "No power follows the name of an eye.",
        'No power was found after "{said}" ({whose}). Write the sphere with its sign, or plano.',
        'We found no number after "{said}". Please enter the SPH with its + or − sign.',
    ),
    _rule(
        "cylinder-not-found",
        "reject",
        "The word cylinder has no figure.",
        'The word cylinder was read near "{said}" ({whose}) and no figure with it. Write the figure, or DS where there is none.',
        'We found the word CYL without a number near "{said}". Please enter it.',
    ),
    _rule(
        "eye-read-twice",
        "reject",
        "Two powers are given for one eye.",
        'A second power for the {eye} begins at "{said}". One text holds one pair: send distance and reading pairs by '
        "themselves.",
        "There are two sets of numbers for the {eye}. Please enter only the one you want.",
    ),
    _rule(
        "eye-missing",
        "reject",
        "One eye has no power.",
        "No power was found for the {eye}. Write both eyes; for a lens without power write plano.",
        "We found no numbers for the {eye}. Please enter both eyes.",
    ),
    _rule(
        "no-power-in-text",
        "reject",
        "The text holds no power that can be read.",
        "No power was found in the text. Write each eye on a line: R −2.25 −0.75 x 10.",
        "We could not find a prescription in the text. Please enter the numbers for each eye.",
    ),
    _rule(
        "text-left-over",
        "reject",
        "Something in the text was not understood.",
        '"{said}" was not understood and could matter. Take it out, or send the figures in fields of their own.',
        'We did not understand "{said}". Please check it, or remove it if it is not part of the prescription.',
    ),
    _rule(
        "figure-left-over",
        "reject",
        "A figure in the text belongs to nothing.",
        'The figure "{said}" belongs to nothing that was read. Say what it is (add, axis, prism, PD), or take it out.',
        'We do not know what the number "{said}" stands for. Please check it.',
    ),
    _rule(
        "add-not-found",
        "reject",
        "The word add has no figure that can be an addition.",
        'The word add was read in "{said}" and no addition with it. Write the figure.',
        "Please enter the number that belongs to ADD.",
    ),
    _rule(
        "add-not-placed",
        "reject",
        "An addition that belongs to no eye, or a second one for the same eye.",
        'The addition "{said}" cannot be placed: an eye is missing, or has one already. Write it on the line of its eye.',
        'We do not know which eye "{said}" belongs to. Please enter the ADD for each eye.',
    ),
    _rule(
        "prism-not-found",
        "reject",
        "A prism cannot be read.",
        'A prism was read in "{said}" ({whose}) and no usable amount with it. Write it as 1.50 base in.',
        'We could not read the prism "{said}". Please type it again.',
    ),
    _rule(
        "prism-without-base",
        "reject",
        "A prism has no base.",
        'Prism "{said}" ({whose}) has no base. Write in, out, up, down or an angle after it.',
        'Please add the direction (IN, OUT, UP or DOWN) to the prism "{said}".',
    ),
    _rule(
        "pd-not-clear",
        "reject",
        "A PD in the text cannot be told apart.",
        'The PD in "{said}" is not clear. Write PD 63, PD 31.5/32 (right/left) or PD 63/60 (distance/near).',
        'We could not read the PD in "{said}". Please enter it again.',
    ),
    _rule(
        "vertex-distance-not-clear",
        "reject",
        "A vertex distance in the text cannot be read.",
        'The vertex distance in "{said}" is not clear. Write it once, in millimetres, as VD 12.',
        'We could not read the vertex distance in "{said}". Please enter it again.',
    ),
    _rule(
        "contact-lens-data",
        "reject",
        "The text holds contact-lens data.",
        'Contact-lens data were read in "{said}". A contact-lens prescription is not one for spectacles; ask for the '
        "spectacle prescription.",
        "This looks like a contact-lens prescription. We need the one for glasses.",
    ),
    _rule(
        "table-row-not-clear",
        "reject",
        "A row of a table does not match its header.",
        'The row "{said}" has another number of cells than the header. Give each column its cell.',
        "A row of the table is not complete. Please enter the numbers in the fields for each eye.",
    ),
    _rule(
        "hundredths-without-point",
        "review",
        "Hundredths without a point were taken for a power.",
        '"{said}" ({whose}) has no decimal point and was taken as {taken} D. Confirm it.',
        'We read "{said}" as {taken}. Please check that this is right.',
    ),
    _rule(
        "whole-dioptres",
        "review",
        "Two figures without a point were taken for whole dioptres.",
        '"{said}" ({whose}) has no decimal point and was taken as {taken} D. A point may be lost. Confirm it.',
        'We read "{said}" as {taken}. Please check that no decimal point is missing.',
    ),
    _rule(
        "dash-taken-as-minus",
        "review",
        "A dash between two figures was taken for a minus sign.",
        'The dash in "{said}" ({whose}) was taken for a minus sign; it may only part two figures. Confirm the sign.',
        'We read "{said}" as a minus power. Please check the sign.',
    ),
    _rule(
        "sign-apart",
        "review",
        "A sign stands apart from its figure.",
        'The sign in "{said}" ({whose}) stands apart from its figure; it was taken for the sign. Confirm it.',
        'We read "{said}" with the sign before it. Please check the sign.',
    ),
    _rule(
        "label-next-to-figure",
        "review",
        "A sign stands right behind the name of an eye.",
        'In "{said}" the figure follows the name of the eye without a blank; it was taken as {taken}. Confirm the sign.',
        'We read "{said}" as {taken}. Please check the sign.',
    ),
    _rule(
        "eye-not-labelled",
        "review",
        "An eye is not named.",
        'No eye is named at "{said}"; it was taken for the {taken} eye, by the usual order. Confirm it.',
        'We took "{said}" for the {taken} eye. Please check that the eyes are not swapped.',
    ),
    _rule(
        "axis-zero-in-text",
        "review",
        "An axis of 0 is written.",
        'Axis "{said}" was read ({whose}) and taken as 180, which is the same meridian. A figure may be lost. Confirm it.',
        'We read the AXIS "{said}" as 180. Please check that no digit is missing.',
    ),
    _rule(
        "dash-before-axis",
        "review",
        "A dash before the axis was taken for a separator.",
        'The dash in "{said}" ({whose}) was taken to part the cylinder from the axis {taken}. Confirm it.',
        'We read "{said}" as AXIS {taken}. Please check it.',
    ),
    _rule(
        "nought-too-many",
        "review",
        "A power begins with a nought too many.",
        '"{said}" ({whose}) begins with a nought too many and was taken as {taken} D; the point may have slipped. Confirm it.',
        'We read "{said}" as {taken}. Please check the decimal point.',
    ),
    _rule(
        "axis-not-marked",
        "review",
        "A figure after a whole cylinder was taken for the axis.",
        'The figure "{said}" ({whose}) follows a cylinder without a decimal point and was taken as axis {taken}; it may be its '
        "decimals. Confirm it.",
        'We read "{said}" as AXIS {taken}. Please check that no decimal point is missing before it.',
    ),
    _rule(
        "zero-cylinder-with-axis",
        "review",
        "A cylinder of 0 has an axis.",
        'A cylinder of "{said}" ({whose}) was read with an axis. A digit of the cylinder may be lost. Confirm it.',
        'The CYL "{said}" is nothing, yet there is an AXIS. Please check the CYL against your prescription.',
    ),
    _rule(
        "one-add-for-both",
        "review",
        "One addition was taken for both eyes.",
        'The addition "{said}" stands once and was taken for both eyes. Confirm it.',
        'We took the ADD "{said}" for both eyes. Please check that this is right.',
    ),
    _rule(
        "pd-right-before-left",
        "review",
        "Two PD figures were taken as right and left.",
        'In "{said}" the first figure was taken for the right eye. Confirm the order.',
        'We took the first number of "{said}" for the right eye. Please check it.',
    ),
    _rule(
        "pd-differs-from-text",
        "review",
        "The PD of the order differs from that in the text.",
        'The text says "{said}" and the order another PD. That of the order was used. Ask which is right.',
        'The PD you entered is not the one in "{said}". Please check which is right.',
    ),
    _rule(
        "prism-for-both",
        "review",
        "One prism was taken for both eyes.",
        'The prism after "{said}" was taken for both eyes with the same base. Confirm it.',
        "We took the prism for both eyes. Please check it.",
    ),
    _rule(
        "balance-lens",
        "review",
        "A balance lens is asked for.",
        "A balance lens was read for the {eye}: its power is not prescribed. A person must choose it.",
        "For the {eye} a balance lens is asked for. The shop will choose it with you.",
    ),
    _rule(
        "intermediate-add-set-aside",
        "review",
        "An intermediate addition was set aside.",
        'The intermediate addition "{said}" was set aside: this service has no place for it. Deal with it by hand.',
        "There is an intermediate ADD on your prescription. The shop will ask you about it.",
    ),
    _rule(
        "acuity-set-aside",
        "note",
        "A visual acuity was set aside.",
        'The visual acuity "{said}" was recognised and set aside.',
        'We left out "{said}"; it says how well you see and is not needed for the lenses.',
    ),
    _rule(
        "date-set-aside",
        "note",
        "A date was set aside.",
        'The date "{said}" was set aside: day and month could be exchanged. Enter it as the day of issue.',
        'Please enter the date "{said}" in the date field.',
    ),
)
