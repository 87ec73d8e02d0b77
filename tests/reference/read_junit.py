"""Reads a JUnit output back with junitparser: a suite for each plan of a folder, each with the same cases, counts that add up."""

import pathlib
import sys

from junitparser import Error, Failure, JUnitXml, Skipped

report = JUnitXml.fromfile(sys.argv[1])
plans = sorted(str(path) for path in pathlib.Path(sys.argv[2]).rglob("*.lay"))
assert sorted(suite.name for suite in report) == plans, "a suite for each plan"
names = None
for suite in report:
    own = [case.name for case in suite]
    names = names or own
    assert own == names and len(set(own)) == len(own) > 20, suite.name
    results = [result for case in suite for result in case.result]
    counts = {kind: sum(isinstance(result, kind) for result in results) for kind in (Failure, Error, Skipped)}
    assert (suite.tests, suite.failures, suite.errors, suite.skipped) == (
        len(own), counts[Failure], counts[Error], counts[Skipped]), suite.name
failures = sum(suite.failures for suite in report)
assert failures > 10, failures
print(f"junit: {len(plans)} suites of {len(names)} cases, {failures} failures")
