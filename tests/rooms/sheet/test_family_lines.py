"""Lines of several sizes laid over one another, held to what each size's own sheet says."""

from __future__ import annotations

from flangewise.sheet.family_lines import MOST_NAMED, By, WordsLine, line_words, merged_lines

BY = By(("S", "L"), "<em>TABLE</em>")


def merged(*lines: list[str]) -> list[WordsLine]:
    return list(merged_lines(lines, BY))


def test_what_all_say_stands_once() -> None:
    line = '<p class="small">Open 41. 29 mm kept.</p>\n'
    assert merged([line], [line]) == [WordsLine(line)]


def test_only_the_sentence_that_differs_goes_to_the_table() -> None:
    small = '<p class="small">{} of sheet in front. Under load 88.6°. Open {}: enough.</p>'
    (found,) = merged([small.format(62, 41)], [small.format(81, 41)])
    assert found.shown == '<p class="small"><em>TABLE</em> Under load 88.6°. Open 41: enough.</p>'
    assert found.tabled == (("62 of sheet in front.", "81 of sheet in front."),)


def test_sentences_side_by_side_that_differ_leave_one_mark() -> None:
    (found,) = merged(["<p>A 1. B 2. C.</p>"], ["<p>A 3. B 4. C.</p>"])
    assert found.shown == "<p><em>TABLE</em> C.</p>"
    assert found.tabled == (("A 1.", "A 3."), ("B 2.", "B 4."))


def test_where_the_tools_stand_is_said_beside_them_with_the_names_of_the_sizes() -> None:
    stand = '<p class="stand">From {} on the bed.</p>'
    shown = [line.shown for line in merged([stand.format("420 to 480")], [stand.format("395 to 505")])]
    assert shown == [
        '<p class="stand">S: From 420 to 480 on the bed.</p>',
        '<p class="stand">L: From 395 to 505 on the bed.</p>',
    ]
    assert merged([stand], [stand]) == [WordsLine(stand)]


def test_so_many_places_that_they_would_fill_the_page_stand_in_the_table_as_large() -> None:
    names = tuple(f"s{number}" for number in range(MOST_NAMED + 1))
    told = [[f'<p class="stand">From {number}0 on the bed.</p>'] for number in range(len(names))]
    (found,) = merged_lines(told, By(names, "<em>TABLE</em>"))
    assert found.shown == '<p class="stand"><em>TABLE</em></p>' and found.large
    assert found.tabled == (tuple(f"From {number}0 on the bed." for number in range(len(names))),)


def test_other_numbers_of_sentences_go_to_the_table_whole() -> None:
    (found,) = merged(["<p>A 1.</p>"], ["<p>A 1. B 2.</p>"])
    assert (found.shown, found.tabled) == ("<p><em>TABLE</em></p>", (("A 1.", "A 1. B 2."),))


def test_a_caution_of_one_size_stays_in_its_place_with_its_name() -> None:
    both, own = '<p class="caution">Trap point.</p>', '<p class="caution">Only 42 in front.</p>'
    assert [line.shown for line in merged([both, own], [both])] == [
        both,
        '<p class="caution">S: Only 42 in front.</p>',
    ]
    shown = [line.shown for line in merged([own], [own.replace("42", "57")])]
    assert shown == ['<p class="caution">S: Only 42 in front.</p>', '<p class="caution">L: Only 57 in front.</p>']


def test_keyed_figures_are_parted_from_their_words() -> None:
    """An abbreviation with a point is no end of a sentence, and the decimal sign none of a figure."""
    keyed = '<p class="keyed">Umschaltp. 7,0 · Biegegeschw. {}.</p>'
    (found,) = merged([keyed.format("5,8")], [keyed.format("4,7")])
    assert found.shown == '<p class="keyed">Umschaltp. 7,0 · Biegegeschw. <em>TABLE</em></p>'
    assert found.figures == (("Biegegeschw.", ("5,8", "4,7")),)


def test_keyed_words_that_one_size_lacks_stay_with_the_name_of_the_other() -> None:
    keyed = '<p class="keyed">crowning 0.12</p>'
    assert [line.shown for line in merged([], [keyed])] == ['<p class="keyed">L: crowning 0.12</p>']


def test_a_line_that_one_size_lacks_is_told_of_the_other() -> None:
    mark, fits = '<p class="small">Mark on top.</p>', '<p class="small">Fits turned.</p>'
    found = merged([mark], [mark, fits])
    assert [line.shown for line in found] == [mark, '<p class="small"><em>TABLE</em></p>']
    assert found[1].tabled == (("", "Fits turned."),)


def test_words_are_told_once_with_all_that_have_them() -> None:
    assert line_words(("a", "b", "a", ""), ("S", "M", "L", "XL")) == [("S, L", "a"), ("M", "b")]
