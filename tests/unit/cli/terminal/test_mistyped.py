"""What is missing, wrong or too much on a command line is named in our words, and nothing else is."""

import pytest

from kilnctl.cli.main import run

pytestmark = pytest.mark.usefixtures("own_home")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("steel", "choose"), "kilnctl: steel choose needs GOAL"),
        (("figure", "temper", "60", "--steel"), "kilnctl: figure temper: --steel needs a value after it"),
        (("figure", "temper", "60", "--carbon", "much"), '--carbon: "much" is not a number'),
        (("figure", "temper", "60", "61"), "nothing here takes '61'"),
        (("figure", "temper", "1095", "62"), "a grade is named with --steel"),
        (("figure", "bath", "20kg", "1kg"), "kilnctl: figure bath needs --start"),
        (("prove", "x", "--runs", "1.5"), 'kilnctl: --runs: "1.5" is not a whole number'),
        (("dry-run", "x", "--seed", "0x10"), '--seed: "0x10" is not a whole number'),
        (("runs", "--limit", "1.0"), '--limit: "1.0" is not a whole number'),
        (("export", "1.5", "--out", "x"), 'RUN: "1.5" is not a whole number'),
        (("simulate", "x", "--speed", "nan"), '--speed: "nan" is not a number'),
        (("answer", "maybe"), 'REPLY: "maybe" is not one of done, wait, abort'),
        (("plan", "x", "--json=maybe"), "--json takes no value"),
        (("export", "--all", "--all"), "--all is given twice; give it once"),
        (("figure", "temper", "60", "--steal", "O1"), "--steal. Did you mean --steel?"),
        (("figure", "scale", "--hrb", "95"), "kilnctl: Unknown option: --hrb. ("),
        (("figure", "scale", "--hrb"), "kilnctl: Unknown option: --hrb. ("),
        (("figure", "transfer", "--thinest", "1mm", "800C"), "kilnctl: Unknown option: --thinest. ("),
        (("figure", "transfer", "1mm", "800C", "700C", "--flor"), "--flor. Did you mean --floor?"),
        (("figure", "quenched", "845C", "--steel", "52100", "--cold", "--json"), "--cold needs a value"),
    ],
)
def test_what_is_missing_wrong_or_too_much_is_named_and_nothing_else(
    words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(words) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "'60'" not in told  # what was right is not blamed
