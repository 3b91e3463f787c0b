"""The shared rule code: the same files run in CPython on the server and in MicroPython on the phone.

Pure functions over JSON: no input or output, no clock, no random numbers. It imports json, math
and re at most, and keeps to the language that both Pythons read alike (DEVELOPERS.md, "The core's dialect").
"""

VERSION = "1"
