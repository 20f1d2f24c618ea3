"""What a page says -> those of its words that need explaining, each in plain words."""

import re

#: Each word, the sign by which it is found in a page, and what it means.
WORDS = (
    ("mark", r"\bmarks?\b", "a value that can be set on the dial; nothing lies between two marks"),
    (
        "temperature group",
        "emperature group",
        "the shots made between two changes of a slow setting",
    ),
    (
        "soak",
        r"\bsoaks?\b",
        "the wait after a slow setting was changed, until press and mold have come to rest at it",
    ),
    (
        "warm-up shot",
        "warm-up",
        "a shot made after a soak and thrown away, so that the next counts",
    ),
    ("window", r"\bwindow\b", "the settings at which {good} or more of all shots are good"),
    (
        "likely window, sure window",
        "likely window",
        "the settings that lie in the window with a chance of 0.5 or more; of 0.9 or more",
    ),
    ("edge", r"\bedges?\b", "where the window ends when one setting is moved"),
    (
        "setpoint",
        "setpoint",
        "the marks to run at: there most shots stay good, even where the press holds them loosely",
    ),
    (
        "range",
        r"\branges?\b",
        "all marks between two ends: that may be planned or, around the setpoint, run",
    ),
    ("margin", r"\bmargin\b", "how far the setpoint is from an edge"),
    (
        "short, flash",
        r"\b(short|flash)\b",
        "a part that is not full; plastic squeezed out between the mold halves",
    ),
    (
        "gauge pressure, melt pressure",
        r"\b(gauge|melt pressure)\b",
        "what the gauge of the press reads; what the plunger puts on the melt",
    ),
    ("balance", r"\bbalance\b", "how alike the cavities of a mold fill"),
    ("prior", r"\bprior\b", "what is believed before any shot; the more shots, the less it counts"),
    (
        "draws",
        r"\bdraws\b",
        "surfaces drawn at random from all that agree with what was seen; a chance is the share of "
        "them that say so",
    ),
    (
        "deviation of a new shot",
        "deviations of a new shot",
        "the usual distance of a new shot, in a new temperature group, from what is foretold",
    ),
    ("alias", r"\b[Aa]lias(es)?\b", "an effect that the plan cannot tell from another"),
    ("interaction", "nteraction", "a setting does more or less, by where another one stands"),
    (
        "least squares",
        "least squares",
        "the surface whose squared distances from the readings add up to the least",
    ),
    (
        "lack of fit",
        "ack of fit",
        "how much farther readings lie from a model than repeated shots from each other",
    ),
    ("p", r"\bp\b", "how often luck alone would show as much or more, were nothing there"),
    (
        "R2",
        r"\bR2\b",
        "the part of the differences between readings that a model follows; 1 is all",
    ),
    (
        "VIF",
        r"\bVIF\b",
        "how many times larger an effect's squared error is than if no term varied along with it",
    ),
    (
        "leverage, Cook's distance",
        r"\bleverage\b",
        "how much a shot can pull a surface to itself; how much it did",
    ),
    (
        "Lenth's margin",
        "Lenth's margin",
        "what an effect of nothing stays within as a rule, judged by the small ones of all effects",
    ),
)

_UNREAD = re.compile(r"<(script|svg)\b.*?</\1>|<[^>]*>", re.DOTALL)


def glossary(page: str, good: str) -> list[tuple[str, str]]:
    """Return the words of a page that need explaining, with what they mean.

    Parameters
    ----------
    page : str
        Its HTML; scripts, pictures and markup are not read.
    good : str
        The share of good shots from which a setting is in the window.

    Examples
    --------
    >>> from shotwindow.reports.glossary import glossary
    >>> glossary("<p class='mark'>Soaks cost time; one soak takes <b>20 min</b>.</p>", "90 %")[0][0]
    'soak'
    >>> glossary("<p>The window</p>", "90 %")
    [('window', 'the settings at which 90 % or more of all shots are good')]
    """
    text = _UNREAD.sub(" ", page).replace("&#39;", "'")
    return [
        (word, meaning.format(good=good)) for word, sign, meaning in WORDS if re.search(sign, text)
    ]
