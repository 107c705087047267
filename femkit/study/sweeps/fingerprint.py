"""Would this function still give the same? A hash of its code, of what it calls and of the values it uses."""

import sys
import sysconfig
from dataclasses import fields, is_dataclass
from functools import cache, partial
from hashlib import sha256
from pathlib import Path
from types import CodeType, FunctionType, MethodType, ModuleType

import numpy as np

__all__ = ["fingerprint_of", "is_installed", "kit_fingerprint"]

KIT = Path(__file__).parents[2]
_INSTALLED = (str(KIT), *(sysconfig.get_path(name) for name in ("stdlib", "platstdlib", "purelib", "platlib")))


def fingerprint_of(*things):
    """Sixteen letters that change with the things: values by content, functions by what they do.

    A function is its bytecode, its constants and defaults, the values it encloses, and likewise every global that it
    names, so that an edited helper counts too. Installed packages count by name alone, the kit by `kit_fingerprint`;
    what a function reads from files can't be seen.

    Examples
    --------
    >>> fingerprint_of(lambda x: x + 1) == fingerprint_of(lambda x: x + 1)
    True
    >>> fingerprint_of(lambda x: x + 1) == fingerprint_of(lambda x: x + 2)
    False
    """
    return sha256(_told(things, set()).encode()).hexdigest()[:16]


@cache
def kit_fingerprint():
    """Hash of the kit's own source: a version number stays the same while the kit is worked on."""
    sources = (path.read_bytes() for path in sorted(KIT.rglob("*.py")))
    return sha256(b"\0".join(sources)).hexdigest()[:16]


def is_installed(path):
    """Whether a source file belongs to Python, to an installed package or to the kit, and not to the user."""
    return str(path).startswith(("<frozen", *_INSTALLED))


def _told(thing, seen):
    """A thing as text, the same in every process; `seen` holds the ids of what has been told already."""
    if isinstance(thing, (str, int, float, bytes, type(None))):
        return repr(thing)
    if isinstance(thing, (tuple, list)):
        return f"({','.join(_told(each, seen) for each in thing)})"
    if isinstance(thing, (set, frozenset)):
        return f"{{{','.join(sorted(_told(each, seen) for each in thing))}}}"
    if isinstance(thing, dict):
        return f"{{{','.join(f'{_told(key, seen)}:{_told(value, seen)}' for key, value in thing.items())}}}"
    if isinstance(thing, np.ndarray) and thing.dtype != object:
        return f"{thing.dtype}{thing.shape}{sha256(np.ascontiguousarray(thing).tobytes()).hexdigest()}"
    if isinstance(thing, ModuleType):
        return thing.__name__
    if isinstance(getattr(thing, "fingerprint", None), str):  # models and meshes
        return thing.fingerprint
    if id(thing) in seen:
        return f"{type(thing).__name__} told before"
    seen.add(id(thing))
    if (parts := _parts(thing)) is None:
        return _as_bytes(thing)
    return f"{type(thing).__name__}{_told(parts, seen)}"


def _as_bytes(thing):
    import cloudpickle

    try:
        return cloudpickle.dumps(thing).hex()
    except Exception:  # an open file or a lock, say, which decides nothing
        return type(thing).__qualname__


def _parts(thing):
    """What decides what a thing does; None where nothing can be looked into."""
    if isinstance(thing, CodeType):
        return thing.co_code, thing.co_consts, thing.co_names
    if isinstance(thing, partial):
        return thing.func, thing.args, thing.keywords
    if isinstance(thing, MethodType):
        return thing.__func__, thing.__self__
    if isinstance(thing, FunctionType):
        return _of_function(thing)
    if isinstance(thing, type):
        return _of_class(thing)
    if isinstance(thing, (property, classmethod, staticmethod)):
        return getattr(thing, "fget", None) or thing.__func__
    if hasattr(thing, "__wrapped__"):  # such as functools.cache makes
        return thing.__wrapped__
    if is_dataclass(thing):
        return type(thing), {part.name: getattr(thing, part.name) for part in fields(thing)}
    return (type(thing), vars(thing)) if not _is_foreign(type(thing)) and hasattr(thing, "__dict__") else None


def _of_function(function):
    if is_installed(function.__code__.co_filename):
        return function.__module__, function.__qualname__
    enclosed = []
    for cell in function.__closure__ or ():
        try:
            enclosed.append(cell.cell_contents)
        except ValueError:  # not filled yet
            continue
    names, known = sorted(_names(function.__code__)), function.__globals__
    used = {name: known[name] for name in names if name in known}
    for module in [value for value in used.values() if isinstance(value, ModuleType)]:
        if not is_installed(getattr(module, "__file__", None) or "<frozen"):  # a module of the user's: what is taken
            used |= {f"{module.__name__}.{name}": vars(module)[name] for name in names if name in vars(module)}
    return function.__code__, function.__defaults__, function.__kwdefaults__, enclosed, used


def _names(code):
    """Names of globals and attributes in a function's code and in the functions within it."""
    return set(code.co_names).union(*(_names(part) for part in code.co_consts if isinstance(part, CodeType)))


def _of_class(cls):
    if _is_foreign(cls):
        return cls.__module__, cls.__qualname__
    plain = (FunctionType, property, classmethod, staticmethod, int, float, str, tuple)
    own = [(name, part) for name, part in sorted(vars(cls).items()) if isinstance(part, plain)]
    return cls.__bases__, [(name, part) for name, part in own if callable(part) or not name.startswith("__")]


def _is_foreign(cls):
    """Whether a class is Python's, an installed package's or the kit's."""
    if cls.__module__ == "__main__":  # of a notebook or script, in the workers too
        return False
    module = sys.modules.get(cls.__module__)
    return module is not None and is_installed(getattr(module, "__file__", None) or "<frozen")
