"""The documentation site: pages made from the sources that the tool itself works with.

``fields`` reads the models of the sheets, ``formulas`` the worksheets of the demo cards,
``calculators`` the docstrings, ``commands`` the command line, ``text`` the written pages with what
they include of the README; ``build`` puts them together with mkdocs. Nothing is fetched.
"""
