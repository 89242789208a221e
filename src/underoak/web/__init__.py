"""The local web app: thin routes over the desk, one file a page."""
