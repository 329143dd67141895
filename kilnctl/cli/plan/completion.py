"""The command that lets the shell finish what is typed: completion."""

from typing import Literal

# The library's file only defines a function. Loaded by compinit, the file is itself the completion: it must
# call the function. Sourced, it must name it to the shell.
ZSH_TAIL = """
if [ "$funcstack[1]" = "_kilnctl" ]; then
  _cyclopts_kilnctl "$@"
else
  compdef _cyclopts_kilnctl kilnctl
fi
"""


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

    print(app().generate_completion(prog_name="kilnctl", shell=shell) + ZSH_TAIL * (shell == "zsh"))
    return 0
