"""Kernels as other kernels call them: handed on as intermediate code, made into machine code once.

The compiler makes a whole library of every function that it is asked for: optimised with all that
it calls, turned into machine code, with two wrappers that unpack its arguments from Python. A
kernel that only kernels call needs none of this: the kernel that Python calls takes in its code
and optimises all of it together. A leaf seven calls deep is so compiled once in place of eight
times, and the cache keeps only what Python calls. The same holds for the compiler's own functions,
which make zeros or solve equations. Named tuples are handed on by reference (``references``).
"""

# The compiler's own modules carry few types.
# mypy: disable-error-code="no-untyped-call, attr-defined, assignment, misc, call-overload"

from __future__ import annotations

import operator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from numba.core import compiler, event, sigutils, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler_lock import global_compiler_lock
from numba.core.dispatcher import _FunctionCompiler
from numba.core.registry import CPUDispatcher
from numba.core.targetconfig import ConfigStack

from simsoft.core import elements as elements  # for what it tells the compiler
from simsoft.core.references import check_kept, handed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator


FULL, REDUCED = 3, 1  # levels of the compiler's optimisation
# Called some thousand times a run: less optimised they give back less time than their compiling
# saves. What marches stays at the full level; at level 1 it ran 3 to 14 % slower.
LESS = ("simsoft.bodies.rod.tangents", "simsoft.solvers")
MEMORY = "_simsoft_operators"  # attribute of a typing context that remembers
PLAIN = (types.Number, types.Boolean, types.Array)


class SharedFlags(compiler.Flags):
    """Settings of the compiler that compare by what was set, not by all that could be.

    Every sum and product is looked up by settings: of a cold run these comparisons took a fifth.
    """

    def __hash__(self) -> int:
        return hash(type(self))

    def __eq__(self, other: object) -> bool:
        if type(other) is type(self):
            return bool(other._values == self._values)
        return bool(super().__eq__(other))


class ReducedLibrary(JITCodeLibrary):
    """Code whose single functions are optimised a little before they are taken in."""

    def _optimize_functions(self, ll_module: Any) -> None:
        ll_module.data_layout = self._codegen._data_layout
        passes, builder = self._codegen._function_pass_manager(opt=REDUCED)
        for function in ll_module.functions:
            passes.run(function, builder)


class CalleeLibrary(ReducedLibrary):
    """The intermediate code of a kernel and of those it calls, neither optimised nor loaded."""

    def _optimize_final_module(self) -> None:
        """Leave this to the library that takes the code in."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True


def remember_operators(context: Any) -> None:
    """Let a typing context look up once what an operator makes of plain numbers and arrays.

    The compiler tries a dozen meanings of ``+`` (of tuples, sets, dates) at every sum of two
    numbers. The answer hangs on the types, and on whether arrays may be made, alone.
    """
    resolve = context.resolve_function_type
    known: dict[Any, Any] = {}

    def resolved(function: Any, arguments: Any, named: Any) -> Any:
        plain = not named and isinstance(function, types.Function)
        if not plain or getattr(function.typing_key, "__module__", None) != operator.add.__module__:
            return resolve(function, arguments, named)
        if not all(isinstance(argument, PLAIN) for argument in arguments):
            return resolve(function, arguments, named)
        flags = ConfigStack.top_or_none()
        key = (id(function), tuple(arguments), getattr(flags, "nrt", None))
        if key not in known:
            # the function is kept with its answer, so that no other gets its number
            known[key] = (function, resolve(function, arguments, named))
        return known[key][1]

    context.resolve_function_type = resolved
    setattr(context, MEMORY, known)


class KernelLibrary(ReducedLibrary):
    """The machine code of a kernel that Python calls, with all that it calls inside."""

    level = FULL

    def _optimize_final_module(self) -> None:
        for settings in ({"opt": 0, "cost": "cheap"}, {"opt": self.level}):
            passes, builder = self._codegen._module_pass_manager(**settings)
            passes.run(self._final_module, builder)


def own_function(self: _FunctionCompiler, args: Any, return_type: Any) -> Any:
    """Return a function of the compiler's own, compiled as a callee: its method otherwise."""
    flags = SharedFlags()
    self.targetdescr.options.parse_as_flags(flags, self.targetoptions)
    flags = self._customize_flags(flags)
    flags.no_compile = flags.no_cpython_wrapper = flags.no_cfunc_wrapper = True
    context = self.targetdescr.target_context
    result = compiler.compile_extra(
        self.targetdescr.typing_context,
        context,
        self._get_implementation(args, {}),
        args=args,
        return_type=return_type,
        flags=flags,
        locals=self.locals,
        pipeline_class=self.pipeline_class,
    )
    nothing: list[None] = []
    key = nothing.append  # none like it: nothing but a builtin function counts as compiled
    context.insert_user_function(key, result.fndesc, [result.library])
    return result._replace(entry_point=key)


@contextmanager
def own_functions_taken_in(codegen: Any) -> Iterator[None]:
    """Let the compiler make callees of its own functions meanwhile."""
    library, core = codegen._library_class, _FunctionCompiler._compile_core

    def compiled(self: _FunctionCompiler, args: Any, return_type: Any) -> Any:
        own = self.py_func.__module__.startswith("numba.")
        return own_function(self, args, return_type) if own else core(self, args, return_type)

    codegen._library_class, _FunctionCompiler._compile_core = CalleeLibrary, compiled
    try:
        yield
    finally:
        codegen._library_class, _FunctionCompiler._compile_core = library, core


class KernelCompiler(_FunctionCompiler):
    """Compiles a kernel that Python calls into a ``KernelLibrary``."""

    def _compile_core(self, args: Any, return_type: Any) -> Any:
        if self.targetoptions.get("parallel"):  # threads enter loops of their own by address
            return self._compiled(args, return_type)
        with own_functions_taken_in(self.targetdescr.target_context.codegen()):
            return self._compiled(args, return_type)

    def _compiled(self, args: Any, return_type: Any) -> Any:
        flags = SharedFlags()
        self.targetdescr.options.parse_as_flags(flags, self.targetoptions)
        flags.no_cfunc_wrapper = True
        context = self.targetdescr.target_context
        library = KernelLibrary(context.codegen(), self.py_func.__qualname__)
        library.enable_object_caching()
        if self.py_func.__module__.startswith(LESS):
            library.level = REDUCED
        result = compiler.compile_extra(
            self.targetdescr.typing_context,
            context,
            self.py_func,
            args=[handed(argument) for argument in args],
            return_type=return_type,
            flags=flags,
            locals=self.locals,
            library=library,
        )
        check_kept(result.type_annotation.typemap.values(), result.signature.return_type)
        return result._replace(signature=result.signature.replace(args=tuple(args)))


class Callee(CPUDispatcher):
    """Compiles one kernel for each signature with which other kernels call it."""

    def get_call_template(self, args: Any, kws: Any) -> Any:
        """Return what the compiler needs to know of a call with arguments of some types."""
        named = {name: handed(kind) for name, kind in kws.items()}
        return super().get_call_template([handed(kind) for kind in args], named)

    def compile(self, sig: Any) -> Any:
        """Return the key under which the compiler finds the code for a signature."""
        with global_compiler_lock:
            arguments, returned = sigutils.normalize_signature(sig)
            known = self.overloads.get(tuple(arguments))
            if known is not None:
                return known.entry_point
            told = {"dispatcher": self, "args": arguments, "return_type": returned}
            with event.trigger_event("numba:compile", data=told):
                result = self._compiled(arguments, returned)
            self.overloads[tuple(arguments)] = result
            return result.entry_point

    def _compiled(self, arguments: Any, returned: Any) -> Any:
        flags = SharedFlags()
        self.targetdescr.options.parse_as_flags(flags, self.targetoptions)
        flags.no_compile = flags.no_cpython_wrapper = flags.no_cfunc_wrapper = True
        context = self.targetctx
        library = CalleeLibrary(context.codegen(), self.py_func.__qualname__)
        result = compiler.compile_extra(
            self.typingctx,
            context,
            self.py_func,
            args=arguments,
            return_type=returned,
            flags=flags,
            locals=self.locals,
            library=library,
        )
        check_kept(result.type_annotation.typemap.values(), result.signature.return_type)
        key = object()
        context.insert_user_function(key, result.fndesc, [result.library])
        return result._replace(entry_point=key)


def called_through(kernel: Any, function: Callable[..., Any]) -> Any:
    """Return the kernel of a function, changed so that other kernels call a ``Callee``."""
    context = kernel.typingctx
    if not hasattr(context, MEMORY):
        remember_operators(context)
    callee = Callee(function, kernel.locals, kernel.targetoptions)
    kernel._compiler.__class__ = KernelCompiler
    kernel.get_call_template = callee.get_call_template
    kernel.get_overload = callee.get_overload
    return kernel
