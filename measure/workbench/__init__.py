"""The page in the browser, and the program's side of it.

- ``serve``: start listening on the loopback address and open the page
- ``app``: puts the parts together: guard, routes, errors, the page's own files
- ``guard``: who may speak to the program: Host, Origin, one-time token, sizes of bodies
- ``shelf``: surveys that are open or were, who holds each, saving with earlier versions
- ``photo_shelf``: decoded photos and windows of them at screen size
- ``screen_jpeg``: pictures for the screen as JPEG
- ``answers``: a document -> results, kept under a stamp for pictures and cross-hairs
- ``telling``: answers in plain JSON
- ``placing``: where picks and curves stand on the straightened wall
- ``exports``, ``bench_job``: files written from the page
- ``payloads``: what the page sends
- ``routes_*``: one file for each subject
- ``static/``: the page itself; see house rules in DEVELOPERS.md
"""
