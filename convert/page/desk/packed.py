"""Values of ours as bytes and back: frozen dataclasses of numbers, words and arrays. Nothing in such bytes is ever run.

What is read may come from somebody else's folder: only dataclasses of ``calibration`` and ``convert`` are made of it,
and arrays are read without pickles.
"""

import dataclasses
import importlib
import io
import json
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
from scipy.spatial import cKDTree

_OURS = ("calibration.", "convert.")
_PLAIN = (str, int, float, bool, type(None))


def packed(value: Any) -> bytes:
    """A value as bytes; the same object in two places is kept once.

    Raises
    ------
    TypeError
        If something in it is of no kind that is kept.
    """
    packer = _Packer()
    root = packer.pack(value)
    head = json.dumps({"root": root, "objects": packer.objects}).encode()
    out = io.BytesIO()
    np.savez_compressed(
        out,
        allow_pickle=False,
        head=np.frombuffer(head, np.uint8),
        **{f"a{n}": array for n, array in enumerate(packer.arrays)},
    )
    return out.getvalue()


def unpacked(data: bytes) -> Any:
    """The value again; its arrays can't be written to.

    Raises
    ------
    ValueError
        If it is not what :func:`packed` made, or of another version of the program.
    """
    try:
        with np.load(io.BytesIO(data), allow_pickle=False) as read:
            head = json.loads(read["head"].tobytes())
            arrays = [read[f"a{n}"] for n in range(len(read.files) - 1)]
        return _Unpacker(head["objects"], arrays).unpack(head["root"])
    except Exception as err:
        raise ValueError("this is no value that was kept here") from err


class _Packer:
    def __init__(self) -> None:
        self.objects: list[Any] = []
        self.arrays: list[Any] = []
        self._seen: dict[int, int] = {}
        self._places: dict[int, int] = {}
        self._held: list[Any] = []  # or an address could be given out twice

    def pack(self, value: Any) -> Any:
        """``value`` itself if it is plain, else ``[kind, ...]``."""
        if type(value) in _PLAIN:
            return value
        if isinstance(value, (np.ndarray, np.generic)):
            return ["scalar" if isinstance(value, np.generic) else "array", self._array(value, np.asarray(value))]
        if isinstance(value, bytes):
            return ["bytes", self._array(value, np.frombuffer(value, np.uint8))]
        if isinstance(value, (tuple, list)):
            return ["tuple" if isinstance(value, tuple) else "list", [self.pack(one) for one in value]]
        if isinstance(value, Mapping):
            kind = "frozen" if isinstance(value, MappingProxyType) else "dict"
            return [kind, [[self.pack(key), self.pack(one)] for key, one in value.items()]]
        if isinstance(value, cKDTree):
            return ["tree", self._array(value, np.asarray(value.data))]
        if dataclasses.is_dataclass(value) and type(value).__module__.startswith(_OURS):
            return ["object", self._object(value)]
        raise TypeError(f"a {type(value).__name__} can't be kept")

    def _array(self, value: Any, array: Any) -> int:
        if id(value) not in self._places:
            self.arrays.append(array)
            self._held.append(value)
            self._places[id(value)] = len(self.arrays) - 1
        return self._places[id(value)]

    def _object(self, value: Any) -> int:
        if id(value) not in self._seen:
            fields = {one.name: self.pack(getattr(value, one.name)) for one in dataclasses.fields(value)}
            self.objects.append([type(value).__module__, type(value).__qualname__, fields])
            self._held.append(value)
            self._seen[id(value)] = len(self.objects) - 1
        return self._seen[id(value)]


class _Unpacker:
    def __init__(self, objects: list[Any], arrays: list[Any]) -> None:
        self._arrays = arrays
        for array in arrays:
            array.flags.writeable = False
        self._objects: list[Any] = []
        for module, name, fields in objects:  # each stands after what it holds
            self._objects.append(self._made(module, name, fields))

    def unpack(self, value: Any) -> Any:
        if not isinstance(value, list):
            return value
        kind, held = value
        if kind in ("array", "scalar", "bytes", "tree"):
            array = self._arrays[held]
            return {
                "array": lambda: array,
                "scalar": lambda: array[()],
                "bytes": array.tobytes,
                "tree": lambda: cKDTree(array),
            }[kind]()
        if kind == "object":
            return self._objects[held]
        if kind in ("tuple", "list"):
            return (tuple if kind == "tuple" else list)(self.unpack(one) for one in held)
        pairs = {self.unpack(key): self.unpack(one) for key, one in held}
        return MappingProxyType(pairs) if kind == "frozen" else pairs

    def _made(self, module: str, name: str, fields: Mapping[str, Any]) -> Any:
        if not module.startswith(_OURS):
            raise ValueError(f"{module} is not ours")
        kind: type = getattr(importlib.import_module(module), name)
        if set(getattr(kind, "__dataclass_fields__", ())) != set(fields):
            raise ValueError(f"{name} is no value of this version")
        value: Any = object.__new__(kind)  # checked when it was made the first time
        for field, held in fields.items():
            object.__setattr__(value, field, self.unpack(held))
        return value
