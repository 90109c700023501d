"""The suite of sending, as it is, in the second engine.

What it leaves out needs an answer to be lost on its way, a proxy, a look at what is asked, a clock
that is off, or the browser to be started again: none can be had in this engine's driver. An answer
that is lost is tried in `test_webkit`, within the page.
"""

# ruff: noqa: F401 - what is brought in is what is run

from tests.browser.test_sync import (
    test_a_service_that_has_lost_its_store_gets_everything_again,
    test_a_whole_day_goes_over_in_one_go,
    test_readings_go_over_by_themselves,
    test_the_service_is_killed_in_the_middle,
    test_they_wait_for_the_network_and_then_go,
    test_two_phones_have_the_same_book,
    test_two_tabs_send_each_entry_once,
    test_what_one_adds_the_other_sees_within_seconds,
)
