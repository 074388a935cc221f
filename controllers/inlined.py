"""Code of kernels as other kernels need it: LLVM's intermediate code, optimised, and no machine code.

numba makes machine code and a door from Python of every function it compiles. A formula that kernels call is inlined into them or
linked with them; its own machine code is never run. Leaving it out changes no instruction of the callers.

Where a kernel makes no arrays, numba's passes for code of other kinds (`with`, array expressions, unrolled tuples) are left
out as well.
"""

from __future__ import annotations

from typing import Any

from numba import _dynfunc
from numba.core import compiler, typed_passes, untyped_passes
from numba.core.caching import CompileResultCacheImpl, FunctionCache
from numba.core.codegen import JITCodeLibrary, ll
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.environment import lookup_environment

ENVIRONMENT = "_ZN08NumbaEnv"
FOR_NO_KERNEL = frozenset(
    {
        untyped_passes.WithLifting,
        untyped_passes.InlineInlinables,
        untyped_passes.LiteralUnroll,
        untyped_passes.LiteralPropagationSubPipelinePass,
        typed_passes.InlineOverloads,
        typed_passes.NopythonRewrites,
        typed_passes.NoPythonSupportedFeatureValidation,
        typed_passes.DumpParforDiagnostics,
    }
)
"""Passes with nothing to do for a kernel that makes no arrays."""


class InlinedLibrary(JITCodeLibrary):
    """Optimised code that is linked into that of callers and never loaded itself."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._verify_declare_only_symbols()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> int:
        raise RuntimeError(f"{name} is code for other kernels and has no address")


def _no_entry(fndesc: Any, env: Any, library: Any) -> Any:
    """What numba wants for an entry from Python; nobody gets hold of it (`two_faces.Kernel`)."""
    return _dynfunc.make_function(
        fndesc.lookup_module(), fndesc.qualname.split(".")[-1], "", 0, env, (library,)
    )


@register_pass(mutates_CFG=True, analysis_only=False)
class InlinedLowering(typed_passes.NativeLowering):
    """numba's lowering, into an `InlinedLibrary`."""

    _name = "inlined_lowering"

    def run_pass(self, state: Any) -> bool:
        state.library = InlinedLibrary(state.targetctx.codegen(), state.func_id.func_qualname)
        state.flags.no_compile = True  # no address is asked for
        super().run_pass(state)
        state.flags.no_compile = False
        lowered = state["cr"]
        entry = _no_entry(lowered.fndesc, lowered.env, state.library)
        state["cr"] = lowered._replace(cfunc=entry)
        state.targetctx.insert_user_function(entry, lowered.fndesc, [state.library])
        return True


@register_pass(mutates_CFG=True, analysis_only=False)
class EntryLowering(typed_passes.NativeLowering):
    """numba's lowering; what the inlined code says when it fails is set here, as it is for code from the cache."""

    _name = "entry_lowering"

    def run_pass(self, state: Any) -> bool:
        super().run_pass(state)
        for variable in state.library._final_module.global_variables:
            env = lookup_environment(variable.name) if variable.name.startswith(ENVIRONMENT) else None
            if env is not None:
                state.library.codegen.set_env(env.env_name, env)
        return True


def _pipeline(state: Any, lowering: type, left_out: frozenset[type] = frozenset()) -> PassManager:
    made = compiler.DefaultPassBuilder.define_nopython_pipeline(state)
    made.passes = [
        (lowering if one is typed_passes.NativeLowering else one, about)
        for one, about in made.passes
        if one not in left_out
    ]
    made.finalize()
    return made


class InlinedCompiler(compiler.CompilerBase):
    """For a kernel as kernels call it."""

    def define_pipelines(self) -> list[PassManager]:
        left_out = frozenset() if self.state.flags.nrt else FOR_NO_KERNEL
        return [_pipeline(self.state, InlinedLowering, left_out)]


class EntryCompiler(compiler.CompilerBase):
    """For a kernel as Python, or the flight loop by its address, calls it."""

    def define_pipelines(self) -> list[PassManager]:
        return [_pipeline(self.state, EntryLowering)]


class _InlinedFiles(CompileResultCacheImpl):
    """What of inlined code is kept on disk, beside that of the same function as Python calls it."""

    @property
    def filename_base(self) -> str:
        return f"{self._filename_base}.inlined"

    def reduce(self, cres: Any) -> tuple[Any, ...]:
        code = cres.library.name, cres.library._get_module_for_linking().as_bitcode()
        environments = tuple(cres._find_referenced_environments())
        cres.fndesc.typemap = cres.fndesc.calltypes = None  # not needed again, and slow to keep
        return code, cres.fndesc, cres.environment, cres.signature, cres.reload_init, environments

    def rebuild(self, target_context: Any, payload: tuple[Any, ...]) -> Any:
        (name, bitcode), fndesc, env, signature, reload_init, environments = payload
        for function in reload_init:
            function()
        library = InlinedLibrary(target_context.codegen(), name)
        library._final_module = ll.parse_bitcode(bitcode)
        library._finalize_final_module()
        return compiler.CompileResult(
            target_context=target_context, typing_context=target_context.typing_context, library=library,
            entry_point=_no_entry(fndesc, env, library), fndesc=fndesc, environment=env, signature=signature,
            reload_init=reload_init, referenced_envs=environments, type_annotation="", objectmode=False, lifted=(),
            typing_error=None, call_helper=None, metadata=None,
        )  # fmt: skip


class InlinedCache(FunctionCache):
    """numba's cache of one function, for its inlined code."""

    _impl_class = _InlinedFiles
