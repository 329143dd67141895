"""What the commands that talk to the running controller share: ask it, and say what came of it."""

from kilnctl.cli.terminal.place import who
from kilnctl.config import home
from kilnctl.errors import RunRefused
from kilnctl.link.client import LinkClient
from kilnctl.link.snapshot import Answer, Command

LETS_GO_S = 5.0


def ask(word: str, oven: str | None, **args: object) -> Answer:
    """Ask the controller. Raises NoController when there is none, LinkError when it does not answer."""
    with LinkClient(home.socket_path()) as client:
        return client.ask(Command(word, oven, dict(args), who()))


def print_answer(answer: Answer, done: str) -> int:
    """Print what came of it. Raises RunRefused with the controller's reason."""
    if not answer.accepted:
        raise RunRefused(answer.why)
    print(answer.why or done)
    return 0
