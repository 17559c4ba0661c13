"""Findings where they stand: with the step they concern, in few words, or once for the job where several have them."""

from __future__ import annotations

from flangewise.findings import Finding
from flangewise.sheet.data import AnySheet, AnyStep
from flangewise.sheet.wording import Wording
from flangewise.words import catalogue, phrase

OF_SEVERAL = ("tip-speed", "rising-leg", "nose-sharp", "middle-opens", "row-short")
"""Findings that ask for nothing at one moment: of two steps or more they are said once for the job."""


def sentence(words: str) -> str:
    """Words that may stand alone: a capital in front, a point behind."""
    return words[:1].upper() + words[1:].rstrip(".") + "."


def said_at_a_step(sheet: AnySheet) -> frozenset[Finding]:
    """The findings that stand with a step of theirs."""
    return frozenset(
        finding for finding in sheet.findings if any(concerns(sheet, finding, step) for step in sheet.steps)
    )


def concerns(sheet: AnySheet, finding: Finding, step: AnyStep) -> bool:
    """Whether a finding is one of a step: by its number, its bend, the leg that it makes, a hole at its bend."""
    if finding.where is None or finding.severity == "refuse":
        return False
    number = str(dict(finding.where.values).get("number", ""))
    kind, bend = finding.where.code.removeprefix("place."), dict(finding.phrase.values).get("bend")
    if kind == "step":
        return str(step.keyed.step) in number.split(", ")
    if kind == "bend":
        return number == str(step.keyed.bends[0])
    if kind in ("leg", "face"):
        return step.keyed.correction is not None and number == sheet.sized(step.keyed.correction.leg)
    return kind == "hole" and str(bend) in (str(step.keyed.bends[0]), *step.labels)


def common_signs(sheet: AnySheet, wording: Wording) -> list[str]:
    """What would stand with every step, or with several, and is said once for the job, naming them; of tips that come
    up, that of the fastest."""
    if len(sheet.steps) == 1:
        return []
    lines = []
    for steps, words in _common(sheet, wording).values():
        if len(steps) == len(sheet.steps):
            lines.append(wording.word("every-step", sign=sentence(words)))
        else:
            lines.append(wording.word("some-steps", steps=", ".join(map(str, steps)), sign=sentence(words)))
    return lines


def _common(sheet: AnySheet, wording: Wording) -> dict[str, tuple[list[int], str]]:
    """The steps and the words of the findings that every step has, or several, by their code, where they are the same
    at each."""
    by_step = {
        step.keyed.step: {each.code: each for each in sheet.findings if concerns(sheet, each, step)}
        for step in sheet.steps
    }
    found = {}
    for code in dict.fromkeys(code for each in by_step.values() for code in each):
        having = {number: each[code] for number, each in by_step.items() if code in each}
        if len(having) == len(by_step) or (len(having) > 1 and code in OF_SEVERAL):
            fastest = max(having.values(), key=_tip_speed)
            told = {_sign_words(each, wording) for each in having.values()}
            if len(told) == 1 or _tip_speed(fastest):
                found[code] = list(having), _sign_words(fastest, wording)
    return found


def _tip_speed(finding: Finding) -> float:
    """How fast the tip comes up, in mm/s; 0 of any other finding."""
    return float(str(dict(finding.phrase.values).get("slow_tip_mm_per_s", 0.0)))


def step_signs(sheet: AnySheet, step: AnyStep, wording: Wording, *, alone: bool = True) -> list[str]:
    """Cautions and notes of this very step in few words, and what faces and films ask for.

    Not `alone`: beside other steps, where what all of them have is said once.
    """
    common = {} if alone or len(sheet.steps) == 1 else _common(sheet, wording)
    here = {code for code, (steps, _) in common.items() if step.keyed.step in steps}
    found = [finding for finding in sheet.findings if concerns(sheet, finding, step) and finding.code not in here]
    said = [_sign_words(finding, wording) for finding in found]
    part, keyed = sheet.part, step.keyed
    face_down = "marked" if keyed.marked_face == "down" else "other"
    if part.good_face == face_down:
        said.append(wording.word("sign-good-face"))
    inner = "marked" if step.zones[0].toward else "other"
    if keyed.hit in ("pre-bend", "flatten") and part.film in (inner, "both"):
        said.append(wording.word("sign-film-in-fold"))
    return [" ".join(map(sentence, dict.fromkeys(said)))] if said else []


def _sign_words(finding: Finding, wording: Wording) -> str:
    """The short words for a finding where the catalogue has them, else its sentence."""
    code = f"sheet.sign-of.{finding.code}"
    if code in catalogue(wording.lang):
        return wording.said(phrase(code, **dict(finding.phrase.values)))
    return wording.said(finding.phrase)
