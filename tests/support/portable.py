"""Find in source what only POSIX has, or what means something else on Windows."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

POSIX_MODULES = frozenset(
    {"crypt", "fcntl", "grp", "nis", "posix", "pty", "pwd", "resource", "spwd", "syslog", "termios", "tty"}
)
"""Modules of the standard library whose documentation says: availability Unix."""

POSIX_NAMES = {
    "os": frozenset(
        {
            "chown", "confstr", "ctermid", "fchmod", "fchown", "fork", "forkpty", "getegid", "geteuid",
            "getgid", "getloadavg", "getpgid", "getpgrp", "getsid", "getuid", "kill", "killpg", "lchown",
            "mkfifo", "mknod", "nice", "openpty", "pathconf", "posix_spawn", "register_at_fork",
            "sched_getaffinity", "sched_setaffinity", "setpgid", "setsid", "setuid", "statvfs", "sync",
            "uname", "wait", "wait3", "wait4", "waitid", "O_CLOEXEC", "O_DIRECTORY", "O_NOFOLLOW",
        }
    ),
    "signal": frozenset(
        {
            "SIGALRM", "SIGCHLD", "SIGCONT", "SIGHUP", "SIGKILL", "SIGPIPE", "SIGQUIT", "SIGSTOP", "SIGTSTP",
            "SIGUSR1", "SIGUSR2", "alarm", "pause", "pthread_kill", "pthread_sigmask", "setitimer", "sigwait",
        }
    ),
}  # fmt: skip
POSIX_KEYWORDS = frozenset({"preexec_fn", "pass_fds", "process_group"})
NOT_ALIKE = frozenset({"rename"})
"""``os.rename`` and ``Path.rename`` refuse on Windows where the target is there; ``os.replace`` does not."""

ROOTED = ("/tmp", "/dev/", "/var/", "/etc/", "/usr/", "/home/")


def needs_posix(source: str) -> list[str]:
    """Everything in a module that is not there, or not the same, on Windows; one line each.

    A name of ``os`` or ``signal`` may be used where ``hasattr`` is asked for it first, a module where
    ``sys.platform`` is.
    """
    tree = ast.parse(source)
    found = []
    for node, asked in _walk(tree, frozenset()):
        if (why := _why(node, asked)) is not None:
            found.append(f"line {getattr(node, 'lineno', 0)}: {why}")
    return found


def _walk(node: ast.AST, asked: frozenset[str]) -> Iterator[tuple[ast.AST, frozenset[str]]]:
    """Every node, with the names that the functions around it, or the module at its top, ask for first."""
    if isinstance(node, (ast.FunctionDef, ast.Lambda)):
        asked |= _asked(node)
    elif isinstance(node, ast.Module):
        for statement in node.body:
            if not isinstance(statement, (ast.FunctionDef, ast.ClassDef)):
                asked |= _asked(statement)
    yield node, asked
    for child in ast.iter_child_nodes(node):
        yield from _walk(child, asked)


def _asked(tree: ast.AST) -> frozenset[str]:
    """Names that are looked for before they are used; all modules where the platform is asked for."""
    names: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ("hasattr", "getattr"):
            names |= {str(a.value) for a in node.args[1:2] if isinstance(a, ast.Constant)}
        elif isinstance(node, ast.Attribute) and ast.unparse(node) == "sys.platform":
            names |= POSIX_MODULES
    return frozenset(names)


def _why(node: ast.AST, asked: frozenset[str]) -> str | None:
    if isinstance(node, ast.Import):
        wrong = [a.name for a in node.names if a.name.split(".")[0] in POSIX_MODULES - asked]
        return f"imports {wrong[0]}" if wrong else None
    if isinstance(node, ast.ImportFrom):
        names = [alias.name for alias in node.names if alias.name in POSIX_NAMES.get(node.module or "", ())]
        if (node.module or "").split(".")[0] in POSIX_MODULES - asked:
            names.append(str(node.module))
        return f"imports {names[0]}" if names else None
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        wrong_name = node.attr in POSIX_NAMES.get(node.value.id, ()) and node.attr not in asked
        return f"uses {node.value.id}.{node.attr}" if wrong_name else None
    if isinstance(node, ast.Call):
        return _why_call(node)
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value.startswith(ROOTED):
        return f"names {node.value}"
    return None


def _why_call(node: ast.Call) -> str | None:
    keywords = {keyword.arg for keyword in node.keywords}
    if wrong := keywords & POSIX_KEYWORDS:
        return f"passes {min(wrong)}"
    method = isinstance(node.func, ast.Attribute)
    name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
    if name in NOT_ALIKE and method and len(node.args) in (1, 2):
        return f"calls {name}: replace is the same everywhere"
    if name in ("read_text", "write_text") and method and "encoding" not in keywords:
        return f"calls {name} without an encoding"
    if name == "open" and "encoding" not in keywords and not _binary(node):
        return "opens a text without an encoding"
    if name == "get_context" and any(isinstance(a, ast.Constant) and a.value != "spawn" for a in node.args):
        return "starts processes by fork"
    return None


def _binary(node: ast.Call) -> bool:
    """Whether a call of an ``open`` names a binary mode, or is none of a text: of os, part of an archive."""
    owner = node.func.value if isinstance(node.func, ast.Attribute) else None
    part = owner is not None and bool(node.args) and not isinstance(node.args[0], ast.Constant)
    return part or getattr(owner, "id", "") == "os" or _has_b(node)


def _has_b(node: ast.Call) -> bool:
    modes = [*node.args, *(keyword.value for keyword in node.keywords if keyword.arg == "mode")]
    return any(isinstance(m, ast.Constant) and isinstance(m.value, str) and "b" in m.value for m in modes)


def violations(root: Path) -> list[str]:
    """The same for every module below a folder."""
    return [
        f"{file.relative_to(root).as_posix()}: {line}"
        for file in sorted(root.rglob("*.py"))
        for line in needs_posix(file.read_text(encoding="utf-8"))
    ]
