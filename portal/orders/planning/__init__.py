"""When everything is ready: the forecast, and how long work really takes."""
