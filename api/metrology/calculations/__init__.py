"""Calculations that anyone may ask for by name: each a question and an answer, frozen, and the function between them.

A file a kind. `table` lists them; both doors, the web's and the command line's, read that list and nothing else. Nothing
is kept and nothing is on record: a question carries everything its answer rests on. Fields whose meaning only shows
together (either this or that) are checked where the question comes in, by the wire.
"""
