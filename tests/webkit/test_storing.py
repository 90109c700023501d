"""The suite of storing, as it is, in the second engine.

What it leaves out needs the browser to be killed and started again on what it kept, or room to be
given to its storage: neither can be had in this engine's driver.
"""

# ruff: noqa: F401 - what is brought in is what is run

from tests.browser.test_book import (
    test_a_bad_file_is_refused_with_one_line,
    test_a_failed_write_is_made_again,
    test_a_file_that_contradicts_the_phone_changes_nothing,
    test_a_newer_page_in_another_tab,
    test_a_photo_can_be_shown,
    test_a_photo_is_made_smaller_and_loses_where_it_was_taken,
    test_a_photo_that_this_browser_cannot_read_is_kept_as_it_is,
    test_a_survey_goes_through_a_file,
    test_an_entry_that_is_not_sound_is_not_added,
    test_two_tabs_see_each_other,
)
