"""The frozen shapes in which stored things are read: the register's entities, calibrations, certificates, the log.

Shapes only, no decisions. Field names are the words of the wire, the columns and the pages.
"""
