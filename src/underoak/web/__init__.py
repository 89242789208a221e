"""The local web app: thin routes over the desk."""
