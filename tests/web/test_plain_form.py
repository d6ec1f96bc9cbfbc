"""Forms name what is amiss in the bench's own words."""

from django import forms

from pegwood.web.forms.fields import MoneyField, PlainForm


class _Order(PlainForm):
    what = forms.CharField(max_length=5)
    count = forms.IntegerField(
        min_value=1, max_value=9, error_messages={"max_value": "Nine is all there is."}
    )
    why = forms.CharField(error_messages={"required": "Say why."})
    sum = MoneyField()


def said(**typed):
    return {name: list(lines) for name, lines in _Order(typed).errors.items()}


def test_an_empty_field_is_told_in_the_forms_own_words_where_it_has_some():
    assert said(what="", count="3", why="") == {
        "what": ["This is still empty. Fill it in."],
        "why": ["Say why."],
    }


def test_what_is_too_long_or_out_of_range_says_what_fits():
    assert said(what="screws", count="0", why="so") == {
        "what": ["Too long: 6 letters. At most 5 fit here."],
        "count": ["At least 1."],
    }
    assert said(what="screw", count="10", why="so") == {"count": ["Nine is all there is."]}


def test_a_sum_of_a_thumb_on_a_key_is_asked_again():
    assert said(what="screw", count="1", why="so", sum="9" * 12) == {
        "sum": ["A figure too many? Write at most €1,000,000,000.00."]
    }
    assert said(what="screw", count="1", why="so", sum="1,234.50") == {}
