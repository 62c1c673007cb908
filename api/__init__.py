"""Steelyard: the service that takes, judges and keeps calibration results of weighing scales."""
