"""The widgets that the screens are put together from; :mod:`walkapp.screens.widgets` lists them."""
