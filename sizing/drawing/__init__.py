"""The drawn figures of the product as SVG text: the water path and the charts.

Pure Python: no Django, no clock, no settings. Screens, papers and the interface for programs all draw
from here, so a picture and its text equivalent cannot drift apart.
"""
