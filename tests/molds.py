"""Invented studies for the tests of plans: their factors, soaks, rules and minutes."""

from shotwindow.doe.study import Study, parse_study

FACTORS = {
    "pressure": 'unit = "bar"\nlow = 3.0\nhigh = 5.0\nstep = 0.1\nlimits = [1.0, 7.0]',
    "melt_temperature": 'unit = "degC"\nlow = 205\nhigh = 235\nstep = 1\nlimits = [180, 260]',
    "mold_temperature": 'unit = "degC"\nlow = 30\nhigh = 60\nstep = 5\nlimits = [10, 90]',
    "injection_time": 'unit = "s"\nlow = 4.0\nhigh = 10.0\nstep = 0.5\nlimits = [2.0, 20.0]',
    "pack_pressure": 'unit = "bar"\nlow = 1.0\nhigh = 3.0\nstep = 0.25\nlimits = [0.0, 5.0]',
    "nozzle_temperature": 'unit = "degC"\nlow = 200\nhigh = 240\nstep = 5\nlimits = [150, 260]',
    "cooling_time": 'unit = "s"\nlow = 10\nhigh = 30\nstep = 2\nlimits = [1, 60]',
    "screw_speed": 'unit = "rpm"\nlow = 50\nhigh = 90\nstep = 5\nlimits = [10, 150]',
}
SOAKS = {
    "melt_temperature": "soak_min = 15\nsoak_down_min = 25",
    "mold_temperature": "soak_min = 10\nsoak_down_min = 15",
}


def study(
    count: int = 4, *, slow: bool = True, budget: float = 240, more: str = "", step: str = ""
) -> Study:
    """Return a study of the first factors above.

    Parameters
    ----------
    count
        Number of factors.
    slow
        Whether the two temperatures need a soak.
    budget
        Minutes.
    more
        Further tables, such as [[avoid]].
    step
        A step of pressure in place of 0.1.
    """
    parts = [
        "[time]\nstart_up_min = 20\nclean_up_min = 15\nshot_min = 3.0\nwarm_up_shots = 2\n"
        f"budget_min = {budget}"
    ]
    for name in list(FACTORS)[:count]:
        soak = SOAKS.get(name, "") if slow else ""
        table = FACTORS[name].replace("step = 0.1", f"step = {step}" if step else "step = 0.1")
        parts.append(f"[factors.{name}]\n{table}\n{soak}")
    return parse_study("\n".join([*parts, more]))
