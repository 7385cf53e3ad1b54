"""The SQL of the questions runs unchanged on a distributed engine, and finds the same rows."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from datetime import date

import pytest

from tests.rollup.plants import asked, held_by_sql
from tests.rollup.spark import Spark
from tests.rollup.world import PLANTS, write_world
from walkapp.rollup import ask, prepare, questions, settle
from walkapp.rollup.tables import READ

VALUES = {"on": date(2026, 4, 15), "within": 30}


def has_java():
    """Whether a Java is there that Spark can start."""
    java = shutil.which("java")
    if java is None:
        return False
    return subprocess.run([java, "-version"], capture_output=True, timeout=60, check=False).returncode == 0


@pytest.fixture(scope="module")
def session():
    """One Spark for all tests of this module, reachable from this machine alone."""
    if not has_java():
        pytest.skip(
            "Java is not installed here, and Spark, the witness of the SQL, cannot start without it"
        )
    before = dict(os.environ)
    os.environ |= {
        "SPARK_LOCAL_IP": "127.0.0.1", "PYSPARK_PYTHON": sys.executable,
        "PYSPARK_DRIVER_PYTHON": sys.executable,
    }  # fmt: skip
    from pyspark.sql import SparkSession

    settings = {
        "spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1",
        "spark.ui.enabled": "false",
        "spark.driver.memory": "1g", "spark.sql.shuffle.partitions": "1", "spark.default.parallelism": "1",
        "spark.sql.adaptive.enabled": "false", "spark.sql.codegen.wholeStage": "false",
        "spark.sql.autoBroadcastJoinThreshold": "100MB", "spark.log.level": "ERROR",
        "spark.sql.session.timeZone": "UTC",
        # Small data and many plans: compiling takes longer than it ever gives back.
        "spark.sql.codegen.factoryMode": "NO_CODEGEN", "spark.sql.constraintPropagation.enabled": "false",
        "spark.driver.extraJavaOptions": "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC",
    }  # fmt: skip
    builder = SparkSession.builder.master("local[2]").appName("witness")
    for name, value in settings.items():
        builder = builder.config(name, value)
    made = builder.getOrCreate()
    try:
        yield made
    finally:
        made.stop()
        os.environ.clear()
        os.environ.update(before)


@pytest.fixture(scope="module")
def both(session, tmp_path_factory):
    """The same bundles in both engines."""
    folder = tmp_path_factory.mktemp("plants")
    write_world(folder)
    paths = sorted(folder.rglob("*.zip"))
    sources = [(path.relative_to(folder).parts[0], path) for path in paths]
    sources = [(plant if plant in PLANTS else "not said", path) for plant, path in sources]
    spark = Spark(session)
    spark.load(sources, tmp_path_factory.mktemp("unpacked"))
    settle(spark)
    prepare(spark, questions().values())
    with asked(sources) as duck:
        yield duck, spark


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("name", questions())
def test_a_question_finds_the_same_rows_on_spark(both, name):
    duck, spark = both
    question = questions()[name]

    found, witness = ask(duck, question, VALUES).rows, ask(spark, question, VALUES).rows

    assert found == witness
    assert found, "a question that finds nothing compares nothing"


@pytest.mark.filterwarnings("ignore")
def test_the_same_records_hold_on_spark(both):
    duck, spark = both

    for kind in READ:
        assert held_by_sql(duck, kind) == held_by_sql(spark, kind)
