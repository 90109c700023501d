"""The sync against a hostile world.

``test_seeds`` plays a seeded world of two phones over and over: ``pytest tests/faults --seed N``
repeats one seed, ``-k test_inside --seeds N`` plays the first N on each database. ``test_races``
kills the service at moments nobody chose, ``test_full_disk`` and ``test_photos`` fill the disk and
cut the photos.

``crash`` fires inside the real code, ``doors`` are the ways to a service (``quick`` makes the start
of one of them cheap), ``phone`` is a model of a phone, ``world`` draws what happens to them, and
``check`` says afterwards whether it may have.
"""
