"""README and docs: the commands they show exist and print what is shown, links lead somewhere, keys are named."""

import doctest
import importlib.util
import json
import re
import shlex
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", ROOT / "mixtures-demo" / "README.md", *DOCS.glob("*.md")]
LARGEST_PICTURE = 300_000  # bytes

specification = importlib.util.spec_from_file_location("refresh", DOCS / "refresh.py")
refresh = importlib.util.module_from_spec(specification)
sys.modules["refresh"] = refresh
specification.loader.exec_module(refresh)


def page_names(pages):
    return [str(page.relative_to(ROOT)) for page in pages]


# --- README


def block_under(heading: str) -> str:
    """The only fenced block of a section of the README that is a command to run."""
    section = (ROOT / "README.md").read_text().split(f"\n{heading}\n")[1].split("\n## ")[0]
    blocks = re.findall(r"^```sh\n(.*?)^```$", section, re.DOTALL | re.MULTILINE)
    assert len(blocks) == 1 and section.count("```") == 2
    return blocks[0]


def test_run_it_is_one_line_that_installs_and_searches_the_demo():
    line = block_under("## Run it")
    assert line.count("\n") == 1
    for step in ("python3 -m venv .venv", "pip install", "mixjt search mixtures-demo/receiver-120K.toml"):
        assert step in line


def test_test_it_is_one_line_that_installs_and_tests():
    line = block_under("## Test it")
    assert line.count("\n") == 1
    for step in ("python3 -m venv .venv", "pip install", "[test]", "pytest"):
        assert step in line


# --- links and pictures


def anchors(page: Path) -> set[str]:
    """What a link to the page may name after #: its headings and explicit anchors."""
    text = re.sub(r"^```.*?^```$", "", page.read_text(), flags=re.DOTALL | re.MULTILINE)
    headings = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    slugs = {re.sub(r"[^\w\- ]", "", heading.lower()).strip().replace(" ", "-") for heading in headings}
    return slugs | set(re.findall(r'<a id="([^"]+)">', text))


@pytest.mark.parametrize("page", PAGES, ids=page_names(PAGES))
def test_links_lead_somewhere(page):
    broken = []
    for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text()):
        if re.match(r"https?://", target):
            continue
        path, _, anchor = target.partition("#")
        file = (page.parent / path).resolve() if path else page
        if not file.exists() or (anchor and anchor not in anchors(file)):
            broken.append(target)
    assert not broken


def test_every_picture_is_drawn_by_the_refresh_shown_and_small():
    pictures = {picture.name: picture for picture in (DOCS / "pictures").iterdir()}
    assert set(pictures) == set(refresh.PICTURES)
    shown = "".join(page.read_text() for page in PAGES)
    for name, picture in pictures.items():
        assert f"pictures/{name})" in shown
        assert picture.stat().st_size < LARGEST_PICTURE


# --- commands


@cache
def help_of(*command: str) -> str:
    done = subprocess.run(
        [sys.executable, "-m", "mixjt", *command, "--help"],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return done.stdout


def commands_of_help() -> set[str]:
    return set(re.findall(r"^  (\w+) ", help_of().split("Commands:")[1], re.MULTILINE))


def shown_commands() -> list[list[str]]:
    """Every `mixjt VERB ...` in a code span or a console line, as its words."""
    found = []
    for page in PAGES:
        text = page.read_text()
        lines = re.findall(r"`(?:\.venv/bin/)?(mixjt [a-z][^`\n]*)`", text) + re.findall(
            r"^\$ (mixjt .*)$", text, re.MULTILINE
        )
        found += [shlex.split(line)[1:] for line in lines]
    return found


def test_shown_commands_and_their_options_and_files_exist():
    shown = shown_commands()
    assert len(shown) > 15
    for verb, *words in shown:
        assert verb in commands_of_help()
        for word in words:
            if word.startswith("--"):
                assert word in help_of(verb)
            elif word.endswith(".toml") and word not in ("CASE.toml", "NEW.toml"):
                assert (ROOT / word).is_file()


def test_readme_explains_every_command():
    explained = re.findall(r"^\| `(\w+)` \|", (ROOT / "README.md").read_text(), re.MULTILINE)
    assert set(explained) == commands_of_help()


# --- outputs

QUICK = ("gases", "phases", "cycle", "pinch")  # a search is too long to repeat here
TUTORIAL = DOCS / "tutorial.md"
SHOWN = [item for item in refresh.shown_outputs(TUTORIAL.read_text()) if item.command.split()[1] in QUICK]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.mark.parametrize("shown", SHOWN, ids=[f"{item.command} {item.first or ''}" for item in SHOWN])
def test_the_tutorial_shows_what_the_tool_prints(shown):
    # words must match, numbers within what another processor may change
    present = refresh.present_output(shown)
    words = [NUMBER.sub("#", re.sub(r"[\s─]+", " ", text)) for text in (shown.output, present)]
    assert words[0] == words[1]
    numbers = [[float(found) for found in NUMBER.findall(text)] for text in (shown.output, present)]
    assert numbers[0] == pytest.approx(numbers[1], rel=2e-3, abs=2e-3)


def test_case_file_page_lists_the_keys_as_they_are():
    from mixjt.case.reference import case_reference

    assert (DOCS / "case-file.md").read_text().endswith(case_reference())


@pytest.mark.parametrize("page", PAGES, ids=page_names(PAGES))
def test_pages_list_the_figures_as_they_are_declared(page):
    from mixjt.report.pages import with_keys

    assert with_keys(page.read_text()) == page.read_text()


def test_every_table_of_keys_stands_on_one_page_and_every_command_has_one():
    from mixjt.report.pages import TABLES

    shown = re.findall(r"<!-- keys of (\w+) -->", "".join(page.read_text() for page in PAGES))
    assert sorted(shown) == sorted(TABLES)
    assert commands_of_help() - set(TABLES) == {"cycle", "liquefy"}  # "circuit" and "case"; "liquefier"


@pytest.mark.parametrize("page", ["throttle", "compressor"])
def test_pages_name_every_key_of_their_command(page, capsys):
    from mixjt.cli.app import main

    assert main([page, str(ROOT / "mixtures-demo/receiver-120K.toml"), "--json"]) == 0
    text = (DOCS / f"{page}.md").read_text()
    assert [key for key in json.loads(capsys.readouterr().out) if f"`{key}`" not in text] == []


def test_every_anchor_among_the_references_is_cited():
    cited = set(re.findall(r"references\.md#([\w-]+)\)", "".join(page.read_text() for page in PAGES)))
    assert set(re.findall(r'<a id="([^"]+)">', (DOCS / "references.md").read_text())) <= cited


@pytest.mark.parametrize("verb", ["phases", "cycle", "pinch"])
def test_outputs_page_names_every_key_and_file(verb):
    page = (DOCS / "outputs.md").read_text()
    _, _, folder = refresh.ran(f"mixjt {verb} mixtures-demo/receiver-120K.toml")
    record = json.loads((folder / "summary.json").read_text())
    assert [key for key in record if f"`{key}`" not in page] == []
    row = next(line for line in page.splitlines() if line.startswith(f"| `{verb}` |"))
    for file in folder.iterdir():
        name = file.name if file.suffix == ".csv" else file.stem
        assert f"`{name}`" in row or name == "summary"


def test_python_examples():
    failed, tried = doctest.testfile(str(DOCS / "outputs.md"), module_relative=False)
    assert tried >= 4 and failed == 0
