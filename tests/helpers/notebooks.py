"""Notebooks read, made and run. nbformat comes in late: it takes a second, and a worker
that runs no notebook does without it."""


def read(path):
    """A notebook from its file."""
    import nbformat

    return nbformat.read(path, as_version=4)


def write(path, *cells):
    """A new notebook of these cells: code as text, or cells that were made before."""
    import nbformat

    made = [code_cell(cell) if isinstance(cell, str) else cell for cell in cells]
    nbformat.write(nbformat.v4.new_notebook(cells=made), path)


def code_cell(source):
    import nbformat

    return nbformat.v4.new_code_cell(source)


def markdown_cell(source):
    import nbformat

    return nbformat.v4.new_markdown_cell(source)


def runner(notebook=None, **more):
    """What runs a notebook, here and without a page."""
    import nbformat
    from nbclient import NotebookClient

    return NotebookClient(notebook or nbformat.v4.new_notebook(), **more)
