"""Battery boxes, adapter plates and motor rails for electric conversions of classic cars."""

__version__ = "0.1.0"
