"""From a maker's file or paste to rows that are understood, and back.

`reading` makes a grid of text cells, `columns` says which column is what, `rows` understands the rows,
`matching` finds the shop's materials by what the list calls them, and `writing` exports a list that reads
back the same.
"""
