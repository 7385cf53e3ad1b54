"""The devices of a tablet, each behind an interface of ``walkapp.presenters.devices``.

The only place that knows a platform. What a platform lacks is told and never raised at import: each
module imports its library when the device is first asked for.
"""
