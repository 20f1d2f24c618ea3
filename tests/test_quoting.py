"""README quotes the benchmark page, and nothing else: every figure of its section stands there."""

import re
from pathlib import Path

import pytest
from benchmarks import quoting
from benchmarks.quoting import BEGIN, END, PAGE, README, block, trials

HEADS = "| {} shots | A ours | A least-squares | B ours | B least-squares |\n| --- | --- | --- |\n"
TEXT = README.read_text(encoding="utf-8")
SECTION = TEXT.partition("## How well does it find the window?")[2].partition("\n## ")[0]


def test_readme__quotes_the_page_as_it_is() -> None:
    """Where this fails: python tests/benchmarks/quoting.py."""
    assert TEXT.count(BEGIN) == TEXT.count(END) == 1
    quoted = SECTION.partition(BEGIN)[2].partition(END)[0].strip()
    assert quoted == block(PAGE.read_text(encoding="utf-8"))


def test_readme__every_figure_of_the_section__on_the_page() -> None:
    figures, page = re.findall(r"\d+\.\d+", SECTION), PAGE.read_text(encoding="utf-8")
    assert len(figures) >= 30
    assert [figure for figure in figures if not re.search(rf"(?<![\d.]){figure}\b", page)] == []
    by_hand = SECTION.partition(BEGIN)[0] + SECTION.partition(END)[2]
    assert not re.search(r"\d", by_hand)  # what no command keeps true


def test_main__page_measured_anew__only_the_block_follows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page, readme = tmp_path / "page.md", tmp_path / "README.md"
    monkeypatch.setattr(quoting, "PAGE", page)
    monkeypatch.setattr(quoting, "README", readme)
    readme.write_text(f"before\n{BEGIN}\nold\n{END}\nafter\n", encoding="utf-8")
    overlap = trials(now := PAGE.read_text(encoding="utf-8"), "20", "ours")["overlap, mean"]
    first = overlap.partition(" / ")[0]
    now = re.sub(rf"^(\| overlap, mean +\| +){first} ", r"\g<1>0.123 ", now, flags=re.MULTILINE)
    page.write_text(now, encoding="utf-8")
    quoting.main()
    text = readme.read_text(encoding="utf-8")
    assert text.startswith(f"before\n{BEGIN}\n\n| ") and text.endswith(f"\n\n{END}\nafter\n")
    assert "0.123 / " in text and "old" not in text


def test_trials__of_several_tables_the_first_that_has_the_method() -> None:
    tables = [
        "| 12 shots | A ours | B ours |\n| --- | --- | --- |\n| overlap | 0.1 | 0.2 |\n",
        HEADS.format(20) + "| overlap | 1 | 2 | 3 | 4 |\n",
        HEADS.format(12) + "| overlap | 0.3 | 0.4 | 0.5 | 0.6 |\n",
    ]
    page = "\nwords\n\n".join(tables)
    assert trials(page, "12", "ours") == {"overlap": "0.1 / 0.2"}
    assert trials(page, "12", "least-squares") == {"overlap": "0.4 / 0.6"}
    assert trials(page, "20", "ours") == {"overlap": "1 / 3"}
    with pytest.raises(ValueError, match="no table of 8 shots by ours"):
        trials(page, "8", "ours")


def test_block__sampled_without_the_other_sampler__nothing_said_of_it() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert "NUTS" in block(page)
    alone = re.sub(r"^\| compilation excluded .*\n", "", page, flags=re.MULTILINE)
    assert "NUTS" not in block(alone) and block(alone).endswith(" or more.")


def test_block__no_calibration_on_the_page__told() -> None:
    page = PAGE.read_text(encoding="utf-8").replace("studies; chi-square", "studies")
    with pytest.raises(ValueError, match="nothing like"):
        block(page)
