"""Remarks come out of an entry's text as they went in."""

from hypothesis import given
from hypothesis import strategies as st

from rebuildbook.record.remarks import Remark, remarks_in, with_remarks

WORDS = st.text(st.characters(codec="utf-8", exclude_characters=":"), min_size=1).filter(
    lambda text: text.strip() == text
)
REMARKS = st.lists(st.builds(Remark, st.sampled_from(["told", "query", "hold"]), WORDS), max_size=5)


@given(WORDS | st.just(""), REMARKS)
def test_remarks_come_out_as_they_went_in(note, remarks):
    assert remarks_in(with_remarks(note, remarks)) == tuple(remarks)


def test_a_hold_that_a_fitter_writes_himself_is_one():
    assert remarks_in("hold: stud pulls out") == (Remark("hold", "stud pulls out"),)
    assert remarks_in("on hold; wait") == ()
