"""The job book: the only room that stores. Models, migrations, and the use cases the faces call."""
