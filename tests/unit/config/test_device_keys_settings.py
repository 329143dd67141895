"""Two users of one line must agree on all of its settings, those that came later too."""

from kilnctl.config.device_keys import Port


def test_every_key_of_a_port_but_its_path_is_a_setting_of_the_line():
    """Seen to fail: data bits, frames and echo were compared within a file, but not between two ovens."""
    assert set(Port(path="/dev/ttyUSB0").settings) == set(Port.model_fields) - {"path"}
    assert Port(path="/dev/a", frames="ascii").settings != Port(path="/dev/b").settings
    assert Port(path="/dev/a").settings == Port(path="/dev/b").settings
