"""walkapp: find the first station of a value stream at which a defect appears."""

__version__ = "0.1.0"
