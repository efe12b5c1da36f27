from __future__ import annotations

from diagnose.listening.pieces import Vocabulary

PIECES = ["[UNK]", "[CLS]", "[SEP]", "the", "leaf", "horn", "##worm", "##s", ",", "cafe"]
WORDS = Vocabulary(PIECES)


def told(text: str) -> list[str]:
    return [PIECES[piece.number] for piece in WORDS.cut(text)]


def test_a_word_that_is_not_known_is_cut_into_the_longest_pieces_that_are() -> None:
    assert told("The hornworms, leaf") == ["the", "horn", "##worm", "##s", ",", "leaf"]


def test_each_piece_knows_where_its_word_stands() -> None:
    text = "The hornworms"
    assert {text[p.start : p.end] for p in WORDS.cut(text)} == {"The", "hornworms"}


def test_accents_count_for_nothing_and_what_cannot_be_cut_is_unknown() -> None:
    assert told("Café zzz 🐌 " + "leaf" * 30) == ["cafe", "[UNK]", "[UNK]", "[UNK]"]


def test_no_words_have_no_pieces() -> None:
    assert WORDS.cut(" \n ") == []
