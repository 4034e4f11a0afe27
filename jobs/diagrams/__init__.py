"""How a layout is shown: as a draughtsman's drawing on the page and on paper, with its cuts in words.

Plain values in, text or bytes out; nothing here knows the database.
"""
