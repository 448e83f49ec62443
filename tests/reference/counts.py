"""The SQL of the papers in DuckDB, and what `learn` makes of its counts.

    python counts.py HALFSPLIT FOLDER [KNOWLEDGE]

Reads the job records of FOLDER as docs/learning.md does, runs its query, and compares what `HALFSPLIT learn` learns from
the counts with what it learns from the records: every figure, to the last digit. The query of docs/jobs.md runs too.
"""

import json
import pathlib
import re
import subprocess
import sys
import tempfile

import duckdb

DOCS = pathlib.Path(__file__).resolve().parents[2] / "docs"


def queries(page):
    """The SQL blocks of a page."""
    return re.findall(r"```sql\n(.*?)```", (DOCS / page).read_text(), re.DOTALL)


def learned(program, knowledge, *arguments):
    with tempfile.TemporaryDirectory() as folder:
        command = [program, *knowledge, "learn", *arguments, "--json", "--out", f"{folder}/learned.yaml"]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def main(program, folder, *knowledge):
    knowledge = ["--knowledge", *knowledge] if knowledge else []
    reading, counting = queries("learning.md")
    records = pathlib.Path(folder).resolve()
    with tempfile.TemporaryDirectory() as work:
        counts = pathlib.Path(work) / "counts.csv"
        engine = duckdb.connect()
        engine.execute(reading.replace("/srv/jobs", str(records)))
        engine.execute(f"COPY ({counting.strip().rstrip(';')}) TO '{counts}' (HEADER)")
        (of_jobs,) = queries("jobs.md")
        engine.execute(of_jobs)
        lines = counts.read_text().count("\n") - 1
        of_counts = learned(program, knowledge, "--counts", str(counts))
    of_records = learned(program, knowledge, str(records))
    jobs = of_records["overlay"]["jobs"]
    if of_counts["overlay"] != of_records["overlay"]:
        sys.exit(f"{lines} lines of counts and {jobs} records do not say the same")
    print(f"{lines} lines of counts say what {jobs} records say")


if __name__ == "__main__":
    main(*sys.argv[1:])
