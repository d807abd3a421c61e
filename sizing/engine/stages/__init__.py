"""One module per kind of stage; ``stage_for`` (in ``registry``) turns a catalogue product into a stage."""
