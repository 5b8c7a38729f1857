"""How far apart words sound, from the package's phones: what published distances are compared with."""

from rapidfuzz.distance import Levenshtein

from analyzer.language.sound import CODE_LENGTH, encode, pronunciations, sequence_code


def phone_distance(left: str, right: str, like: bool = False, language: str | None = None) -> float:
    """Return the least edit distance between two words over their phones and pronunciations.

    Plain: every insertion, deletion and substitution costs 1. ``like=True``: substituting like sounds costs less
    (see the module's opening). A word without sound is as far as the other is long.
    """
    lefts = pronunciations(left, language) or ("",)
    rights = pronunciations(right, language) or ("",)
    if like:
        return min(Levenshtein.distance(encode(a), encode(b)) for a in lefts for b in rights) / CODE_LENGTH
    return float(min(Levenshtein.distance(a.split(), b.split()) for a in lefts for b in rights))


def sound_similarity(left: tuple[str, ...], right: tuple[str, ...], language: str | None = None) -> float:
    """Return 0 to 1, how alike two runs of words sound: 1 less the like-sound distance over the longer one."""
    return Levenshtein.normalized_similarity(sequence_code(left, language), sequence_code(right, language))
