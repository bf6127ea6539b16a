"""The cupboard: find any sheet again, and leave an archive that outlives this program.

Glossary
--------
catalogue
    One SQLite file beside the results that says what is on every sheet. It is made from the results or the bags alone:
    losing it loses nothing.
bag
    A folder laid out by RFC 8493: the print's own bytes, what was made of them, and a hash of every file.
events
    What happened to a print, after the manner of PREMIS, in plain JSON.
"""
