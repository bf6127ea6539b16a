"""The bench with a light under it: a local page on a finished sheet, to look, correct and confirm.

Glossary
--------
statement
    One thing a person says: a reading confirmed, a block struck out, a dimension put in, a length known.
journal
    All statements of a sheet in order, in an SQLite file beside its results; undone ones stay in it.
"""
