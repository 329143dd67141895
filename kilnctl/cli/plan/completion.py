"""The command that lets the shell finish what is typed: completion."""

from typing import Literal


def completion(shell: Literal["bash", "zsh", "fish"], /) -> int:
    """Print what lets your shell complete commands and options with Tab.

    Put it where the shell looks, then open a new terminal:

    - bash: kilnctl completion bash > ~/.local/share/bash-completion/completions/kilnctl
    - zsh: kilnctl completion zsh > ~/.zfunc/_kilnctl (with "fpath+=~/.zfunc" before compinit in ~/.zshrc)
    - fish: kilnctl completion fish > ~/.config/fish/completions/kilnctl.fish

    Parameters
    ----------
    shell
        Which shell.
    """
    from kilnctl.cli.main import app

    print(app().generate_completion(prog_name="kilnctl", shell=shell))
    return 0
