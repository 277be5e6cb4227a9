"""The command `mixjt start`: its options are the questions of `mixjt.case.questions`."""

from __future__ import annotations

import inspect
import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Annotated

import typer

from mixjt.case.questions import BOTTLE, QUESTIONS, Question, groups, unanswered
from mixjt.cli.options import JsonOutput
from mixjt.errors import InputError, MixjtError

NewArgument = Annotated[
    Path, typer.Argument(metavar="NEW.toml", help="The case file to be written; never one that is there.")
]


def with_options(command: Callable) -> Callable:
    """A command that takes an option for every question, which it gets as keyword arguments."""
    own = inspect.signature(command, eval_str=True)
    named = [one for one in own.parameters.values() if one.kind is not inspect.Parameter.VAR_KEYWORD]
    command.__signature__ = own.replace(parameters=[*named, *map(_parameter, QUESTIONS)])
    return command


def _parameter(question: Question) -> inspect.Parameter:
    many = question.name == BOTTLE
    option = typer.Option(
        question.option,
        metavar="TEXT",
        help=f"{question.words[0].upper()}{question.words[1:]}.{' May be repeated.' * many}",
    )
    kind = Annotated[(list[str] if many else str) | None, option]
    return inspect.Parameter(question.name, inspect.Parameter.KEYWORD_ONLY, default=None, annotation=kind)


@with_options
def start(new_file: NewArgument, json: JsonOutput = False, **options) -> int:
    """Write a new case file from a few answers.

    On a terminal it asks for what it needs; each question is also an option, for scripts, and where all that is
    needed is given nothing is asked. The file says what every line means and how to find its value, has lines for
    what may be known later, and marks what is but a guess. It is ready for mixjt search. Nothing is overwritten.

    \b
    Examples
      mixjt start NEW.toml
      mixjt start NEW.toml --compressor rotary --motor-size "1/2 hp" --cold-end "120 K" --bottle "methane, propane"
    """
    from mixjt.case.new_case import NewCase, checked_answer, checked_together
    from mixjt.case.saved_case import checked_new_file, put_in_place
    from mixjt.cli.deliver import deliver
    from mixjt.report.new_case_report import new_case_record, print_new_case

    checked_new_file(new_file, option="")
    answers = _given(options, checked_answer)
    if unanswered(answers):
        answers = _asked(answers, new_file, checked_answer, checked_together, json)
    new = NewCase(answers)
    case = new.read(new_file)
    put_in_place(new_file, new.text, option="")
    record = new_case_record(new, case)
    return deliver(record, lambda: print_new_case(record), json)


def _given(options: Mapping, checked: Callable) -> dict:
    """The answers that options have given."""
    answers = {}
    for question in QUESTIONS:
        text = options[question.name]
        if question.name == BOTTLE:
            answers[BOTTLE] = tuple(one for part in text or () for one in checked(question, part))
        elif text is not None:
            answers[question.name] = checked(question, text)
    return {name: answer for name, answer in answers.items() if answer != ()}


def _asked(answers: Mapping, path: Path, checked: Callable, together: Callable, json: bool) -> dict:
    """These answers with those to the other questions; a group whose answers do not go together is asked again."""
    if json or not (sys.stdin.isatty() and sys.stdout.isatty()):
        missing = unanswered(answers)[0]
        raise InputError(f"{missing.option} is needed where nobody can be asked: {missing.words}")
    print("An empty line leaves out what is not known; Ctrl-C ends without a file.\n")
    found = dict(answers)
    for passed, group in enumerate(groups(), start=1):
        while True:
            for question in group:
                if question.name not in found and question.applies(found):
                    found |= _answer(question, found.get("compressor", ""), checked)
            try:
                together(found, passed, path)
                break
            except MixjtError as error:
                print(f"Error: {error}", file=sys.stderr)
                again = {one.name for one in group}
                found = {name: answer for name, answer in found.items() if name not in again}
    return found


def _answer(question: Question, kind: str, checked: Callable) -> dict:
    """An answer by the name of its question, nothing for an empty line; after a bad one it is asked again."""
    guess, found = question.guess_for(kind), ()
    hint = " (needed)" if question.needed else f" (else {guess}, a guess)" if guess else ""

    def value(text: str):
        try:
            if text.strip():
                return checked(question, text)
        except InputError as error:
            raise typer.BadParameter(str(error)) from None
        if question.needed and not found:
            raise typer.BadParameter(f"this is needed: {question.words}")
        return None

    while True:
        answer = typer.prompt(f"{question.words}{hint}", default="", show_default=False, value_proc=value)
        if question.name != BOTTLE or answer is None:
            break
        found, hint = (*found, *answer), " (more, or an empty line)"
    answer = found or answer
    return {} if answer is None else {question.name: answer}
