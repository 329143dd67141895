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
        (("runs", "2"), "`kilnctl export 2 --out run2.html` shows run 2"),
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
        (("figure", "decarb", "800C", "20min"), "`kilnctl figure skin --help`"),
        (("figure", "Expansion", "300mm"), "`kilnctl figure growth --help`"),
        (("figure", "millivolts"), "`kilnctl figure couple --help`"),
        (("figure", "weigth"), "`kilnctl figure weight --help`"),
        (("figure", "blah"), "`kilnctl guide WORDS` finds one"),
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


def test_every_word_that_is_meant_leads_to_a_question_of_figure() -> None:
    from kilnctl.cli.figure import figure
    from kilnctl.cli.terminal.mistyped import MEANT

    assert set(MEANT) <= {name for name in figure if not name.startswith("-")}
    every = [word for words in MEANT.values() for word in words.split()]
    assert len(every) == len(set(every)), "one word, one question"
