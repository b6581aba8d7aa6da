"""A power as one line: sphere, cylinder, axis of three digits."""


def line(sphere_d: float, cylinder_d: float | None, axis_deg: float | None) -> str:
    """The line for one eye, as in "-2.25 -0.75 x 010". A missing axis shows as "x ?"."""
    text = power(sphere_d)
    if not cylinder_d:
        return f"{text} DS"
    return f"{text} {power(cylinder_d)} x {_axis(axis_deg)}"


def power(value_d: float, decimals: int = 2) -> str:
    """A power with its sign and two decimals, or as many as it was written with (up to six)."""
    while decimals < 6 and not (4.0 * value_d).is_integer() and round(value_d, decimals) != value_d:
        decimals += 1
    return f"{value_d + 0.0:+.{decimals}f}"


def rounded_line(sphere_d: float, cylinder_d: float, axis_deg: float | None) -> str:
    """The line of a worked-out power, to two decimals."""
    return line(round(sphere_d, 2), round(cylinder_d, 2), axis_deg)


def whole_degree_line(sphere_d: float, cylinder_d: float, axis_deg: float | None) -> str:
    """The line of a worked-out power whose axis was worked out too: to two decimals and whole degrees, 1 to 180."""
    return line(
        round(sphere_d, 2),
        round(cylinder_d, 2),
        None if axis_deg is None else float(round(axis_deg) or 180),
    )


def _axis(axis_deg: float | None) -> str:
    if axis_deg is None:
        return "?"
    return f"{axis_deg:03.0f}" if axis_deg.is_integer() else f"{axis_deg:g}"
