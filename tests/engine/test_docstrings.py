"""Every public function of the engine says units, range, refusals and source, with an example that runs."""

import doctest
import importlib
import inspect
import pkgutil

import pytest

import sizing.engine

PARTS = ("Units:", "Range:", "Raises:", "Source:", ">>>")

# Modules of values only (the foundations): classes and loaders, documented in prose.
VALUES = {"design", "errors", "figures", "findings", "water", "worksheet", "stages.base"}


def _modules():
    prefix = "sizing.engine."
    for found in pkgutil.walk_packages(sizing.engine.__path__, prefix):
        name = found.name.removeprefix(prefix)
        if name not in VALUES:
            yield name


def _public_functions(module):
    for name, value in vars(module).items():
        function = inspect.unwrap(value) if callable(value) else value
        if name.startswith("_") or not inspect.isfunction(function):
            continue
        if function.__module__ == module.__name__:
            yield name, function


MODULES = sorted(set(_modules()))


def test_the_engine_has_modules_to_look_at():
    assert len(MODULES) >= 10


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_says_what_it_needs(name):
    module = importlib.import_module(f"sizing.engine.{name}")
    missing = {
        function: [part for part in PARTS if part not in (inspect.getdoc(value) or "")]
        for function, value in _public_functions(module)
    }
    assert {function: parts for function, parts in missing.items() if parts} == {}


@pytest.mark.parametrize("name", MODULES)
def test_the_examples_run(name):
    module = importlib.import_module(f"sizing.engine.{name}")
    finder = doctest.DocTestFinder(exclude_empty=True)
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE, verbose=False)
    tests = [test for test in finder.find(module, module.__name__) if test.examples]
    # A cached function hides its docstring from the finder: look at what it wraps.
    seen = {test.name for test in tests}
    for function, value in _public_functions(module):
        if f"{module.__name__}.{function}" not in seen:
            tests += [t for t in finder.find(value, f"{module.__name__}.{function}", module=module) if t.examples]
    report: list[str] = []
    for test in tests:
        runner.run(test, out=report.append)
    assert runner.failures == 0, "".join(report)
