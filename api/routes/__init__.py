"""The doors of the web: they translate, open one transaction a request, and answer."""
