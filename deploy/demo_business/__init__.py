"""An invented business to try the program on: people, places, trees, two years of records and weather.

Nothing here is real. Mail addresses end in example.com, telephone numbers lie in the ranges that the United Kingdom's
regulator keeps free for drama (01632 960000 to 960999), and the villages are on no map.
"""
