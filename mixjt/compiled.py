"""Kernels compiled once each, and machine code that can't outlive the sources it was made from.

numba compiles a callee anew inside each of its callers. Here every kernel is a C function with a stated signature;
callers reach it through its symbol, so that nothing is compiled twice. The machine code of a module's kernels is kept in
one file under a stamp, a hash of its own source and of all modules of the project which that imports, directly or not:
an edit makes new whatever may hold a copy of the edited code. What is kept is linked without numba and without the
modules that it was made from, whose import would take longer than all else before a first result.
"""

from __future__ import annotations

import contextlib
import ctypes
import hashlib
import os
import pickle
import re
import tempfile
from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path

FAST_MATH = {"contract", "reassoc", "arcp", "nsz"}  # NaN and infinity keep their meaning
ROOT = Path(__file__).parent  # of the project's modules
DIGEST = hashlib.sha256().digest_size  # bytes at the head of a file
NEVER_CALLED = "NRT_MemInfo_call_dtor"  # numba would free arrays with it; kernels make none, but may name it
KERNELS = re.compile(r"^@compiled\(.*?^def (\w+)", re.MULTILINE | re.DOTALL)

# Functions called before a kernel is compiled that is not kept, with whether it will be.
before_compiling: list[Callable[[bool], None]] = []
_addresses: dict[str, int] = {}  # of kernels, by symbol


def compiled(result, *arguments, exact: bool = False):
    """Decorator: compile a kernel for these types (records or scalars) and return what callers may name.

    exact keeps the order of floating-point operations as written.
    """
    from numba import types

    signature = result(*arguments)

    def decorate(function):
        file, name = Path(function.__code__.co_filename), function.__name__
        symbol, code = _symbol(function.__module__, name), _kept(file)
        if name not in code:
            folder = next(filter(_can_be_written, _folders(file)), None)
            for tell in before_compiling:
                tell(folder is not None)
            code[name] = _machine_code(function, signature, symbol, {"contract"} if exact else FAST_MATH)
            if folder is not None:
                _keep(file, folder)
        _link(symbol, code[name])
        return types.ExternalFunction(symbol, signature)

    return decorate


def python_entry(kernel: str, result, *arguments):
    """The kernel module.name as a function that Python may call; it releases the interpreter lock. ctypes types."""
    module, _, name = kernel.rpartition(".")
    symbol = _symbol(module, name)
    if symbol not in _addresses and not _linked(module, Path(find_spec(module).origin)):
        import_module(module)  # compiles what is missing
    return ctypes.CFUNCTYPE(result, *arguments)(_addresses[symbol])


@cache
def source_stamp(file: Path) -> str:
    """Hash of the source of a module with kernels and of all modules of the project that it imports."""
    parts = [file.read_text(encoding="utf-8"), *(source_stamp(module) for module in _imported(file).values())]
    return hashlib.sha256("".join(parts).encode()).hexdigest()


def _imported(file: Path) -> dict[str, Path]:
    """Modules of the project that a module imports, by name."""
    named = sorted(set(re.findall(r"^from mixjt\.([\w.]+) import", file.read_text(encoding="utf-8"), re.MULTILINE)))
    files = {f"mixjt.{name}": ROOT.joinpath(*name.split(".")).with_suffix(".py") for name in named}
    return {name: module for name, module in files.items() if module.exists()}


def _symbol(module: str, name: str) -> str:
    return f"{module}.{name}".replace(".", "_")


@cache
def _linked(module: str, file: Path) -> bool:
    """Link the kernels of a module and of those that it imports, as far as they are kept; whether all are."""
    source_stamp(file)  # of what is about to be imported: an edit while kernels compile must not go under it
    callees = [_linked(*imported) for imported in _imported(file).items()]  # they come first
    names = KERNELS.findall(file.read_text(encoding="utf-8"))
    code = _kept(file) if names else {}
    if not all(callees) or not all(name in code for name in names):
        return False
    for name in names:
        _link(_symbol(module, name), code[name])
    return True


def _link(symbol: str, code: bytes) -> None:
    """Load the machine code of a kernel, whose callees have been."""
    if symbol not in _addresses:
        import llvmlite.binding as llvm

        engine = _engine()
        engine.add_object_file(llvm.ObjectFileRef.from_data(code))
        engine.finalize_object()
        _addresses[symbol] = engine.get_function_address(symbol)
        llvm.add_symbol(symbol, _addresses[symbol])


@cache
def _engine():
    import llvmlite.binding as llvm

    llvm.initialize_native_target()
    llvm.initialize_native_asmprinter()
    if not llvm.address_of_symbol(NEVER_CALLED):
        llvm.add_symbol(NEVER_CALLED, ctypes.cast(ctypes.pythonapi.Py_FatalError, ctypes.c_void_p).value)
    machine = llvm.Target.from_default_triple().create_target_machine()
    return llvm.create_mcjit_compiler(llvm.parse_assembly(""), machine)


def _machine_code(function, signature, symbol: str, fast_math: set[str]) -> bytes:
    """Compile a kernel as a C function of that name; what numba would raise is not asked for."""
    from llvmlite import ir
    from numba.core import compiler, registry
    from numba.core.compiler_lock import global_compiler_lock

    target, flags = registry.cpu_target, compiler.Flags()
    options = {"nopython": True, "error_model": "numpy", "fastmath": fast_math, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    target.options.parse_as_flags(flags, options)
    flags.no_compile = True  # not before the entry has been added
    made = compiler.compile_extra(
        target.typing_context, target.target_context, function, signature.args, signature.return_type, flags, {}
    )
    context, inner, library = made.target_context, made.fndesc, made.library
    module = context.create_module("entry")
    convention, kinds = context.call_conv, (inner.restype, inner.argtypes)
    callee = ir.Function(module, convention.get_function_type(*kinds), inner.llvm_func_name)
    takes = [context.get_value_type(each) for each in inner.argtypes]
    entry = ir.Function(module, ir.FunctionType(context.get_value_type(inner.restype), takes), symbol)
    builder = ir.IRBuilder(entry.append_basic_block())
    builder.ret(convention.call_function(builder, callee, *kinds, entry.args)[1])
    library.add_ir_module(module)
    with global_compiler_lock:
        library.finalize()
    return library._get_compiled_object()


@cache
def _kept(file: Path) -> dict[str, bytes]:
    """Machine code of the kernels of a module, by name, as far as there is any of its present source."""
    code = {}
    for folder in _folders(file):  # one may hold less than the other
        with contextlib.suppress(OSError):
            kept = (folder / _file_name(file)).read_bytes()
            digest, held = kept[:DIGEST], kept[DIGEST:]
            if hashlib.sha256(held).digest() == digest:  # whole, as it was written
                stamp, its = pickle.loads(held)
                code |= its if stamp == source_stamp(file) else {}
    return code


def _keep(file: Path, folder: Path) -> None:
    """Write what there is of a module's kernels, whole or not at all."""
    with contextlib.suppress(OSError), tempfile.TemporaryDirectory(dir=folder) as aside:
        written = Path(aside) / "kernels"
        held = pickle.dumps((source_stamp(file), _kept(file)))
        written.write_bytes(hashlib.sha256(held).digest() + held)
        written.replace(folder / _file_name(file))


def _folders(file: Path) -> list[Path]:
    """Where machine code may be kept: in NUMBA_CACHE_DIR if set, beside the source, or in the user's cache directory."""
    if stated := os.environ.get("NUMBA_CACHE_DIR"):
        return [Path(stated)]
    users = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA") or os.path.expanduser("~/.cache")
    beside = [file.parent / "__pycache__"]
    return beside if users.startswith("~") else [*beside, Path(users) / "mixjt"]  # there may be no home


def _can_be_written(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except OSError:
        return False
    return True


def _file_name(file: Path) -> str:
    return f"{file.stem}-{hashlib.sha256(f'{file} {_processor()}'.encode()).hexdigest()[:12]}.kernels"


@cache
def _processor() -> str:
    """What machine code is made for, and by what."""
    import llvmlite.binding as llvm

    compilers = [version(name) for name in ("numba", "llvmlite")]
    settings = sorted(f"{name}={value}" for name, value in os.environ.items() if name.startswith("NUMBA_"))
    return " ".join([*compilers, *settings, llvm.get_host_cpu_name(), llvm.get_host_cpu_features().flatten()])
