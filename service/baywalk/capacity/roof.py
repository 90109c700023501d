"""What a cut joist may do for the roof: questions asked one by one, and where to stop."""

from __future__ import annotations

from typing import Any

from baywalk.capacity.setting import ROOF

QUESTIONS: dict[str, str] = {
    "trussed": "Is the roof made of trussed rafters: thin timbers joined by pressed metal plates?",
    "ties": "Does the joist tie the feet of the rafters together, so that they cannot spread?",
    "fixing": "How is the joist fixed to the rafters: bolted, nailed, or not at all?",
    "plate": "Is the wall plate fixed down to the wall, or loose on it?",
    "purlins": "Do purlins, on posts or walls of their own, hold up the rafters?",
    "collars": "Do collars join the rafters higher up?",
}
"""What a person on site has to find out, in the order of asking."""

ENGINEER = "A structural engineer designs this, and building control is told, before any cut."


def roof(answers: dict[str, str]) -> dict[str, Any]:
    """Return how far the questions have come: what to ask next, or why nothing is worked out."""
    known = {key: answers[key] for key in ROOF if answers.get(key, "unknown") in ROOF[key]}
    refusal = _refusal(known)
    nextup = next((key for key in ROOF if key not in known), None)
    return {
        "answers": known,
        "stop": bool(refusal) or nextup is not None,
        "refused": refusal,
        "ask": None if refusal or nextup is None else _asked(nextup),
        "say": refusal or _open(nextup),
    }


def _asked(key: str) -> dict[str, Any]:
    return {"id": key, "say": QUESTIONS[key], "answers": list(ROOF[key])}


def _open(nextup: str | None) -> str:
    if nextup is None:
        return f"Every question about the roof is answered, and none of them forbids it. {ENGINEER}"
    return (
        "Nothing is worked out for cutting a joist until this is known: "
        f"{QUESTIONS[nextup]} If you cannot tell, do not cut. {ENGINEER}"
    )


def _refusal(known: dict[str, str]) -> str | None:
    """Return why no cut is planned here at all, or None."""
    if known.get("trussed") == "yes":
        return (
            "This is a trussed rafter roof. Cutting or weakening any part of a truss affects the "
            "whole roof, so no cut is planned here. Only the truss designer or a structural "
            "engineer can say otherwise."
        )
    if known.get("ties") == "yes":
        return (
            "The joist ties the rafters. Cut, the roof can spread and the walls with it. No cut "
            "is planned here without a replacement tie that a structural engineer has designed."
        )
    # What is fixed to the rafter's foot holds it, whatever the person believes.
    if known.get("fixing") in ("bolted", "nailed"):
        return (
            f"The joist is {known['fixing']} to the rafters, so it ties them, whatever it was "
            "meant for. No cut is planned here without a replacement tie that a structural "
            "engineer has designed."
        )
    if known.get("plate") == "loose":
        return (
            "The wall plate is loose, so only the joists keep the rafters' feet in place. No cut "
            "is planned here. Ask a structural engineer."
        )
    if known.get("purlins") == "no" and known.get("collars") == "no":
        return (
            "Nothing but the joists can be holding these rafters. No cut is planned here. Ask a "
            "structural engineer."
        )
    return None
