"""How much time and memory this process may still take, enforced by the operating system.

Knows the three ways systems have for that and nothing of what the process does. Linux keeps
both limits, Windows keeps both through a job object, macOS keeps the time and takes no notice
of the memory.
"""

from __future__ import annotations

import contextlib
import ctypes
import functools
import math
import signal
import sys
import time
from dataclasses import dataclass

_TOO_LITTLE_QUOTA = 1816
"""Of a process that its Windows job ends. Source: Microsoft, System Error Codes,
ERROR_NOT_ENOUGH_QUOTA."""

_PROCESS_TIME, _PROCESS_MEMORY = 0x2, 0x100
_EXTENDED_LIMITS = 9
_HUNDRED_NS = 10_000_000


@dataclass(frozen=True)
class Limits:
    """What one piece of work may take.

    Attributes:
        cpu_s: seconds of computing.
        wall_s: seconds on the clock, for work that waits instead, or shares its core.
        memory_bytes: memory of the whole process.
    """

    cpu_s: float = 15.0
    wall_s: float = 60.0
    memory_bytes: int = 2 * 1024**3


class BasicJobLimits(ctypes.Structure):
    """JOBOBJECT_BASIC_LIMIT_INFORMATION. Source: Microsoft, winnt.h."""

    _fields_ = (
        ("process_time", ctypes.c_int64),
        ("job_time", ctypes.c_int64),
        ("flags", ctypes.c_uint32),
        ("least_working_set", ctypes.c_size_t),
        ("most_working_set", ctypes.c_size_t),
        ("processes", ctypes.c_uint32),
        ("affinity", ctypes.c_size_t),
        ("priority", ctypes.c_uint32),
        ("scheduling", ctypes.c_uint32),
    )


class ExtendedJobLimits(ctypes.Structure):
    """JOBOBJECT_EXTENDED_LIMIT_INFORMATION. Source: Microsoft, winnt.h."""

    _fields_ = (
        ("basic", BasicJobLimits),
        ("io_counters", ctypes.c_uint64 * 6),
        ("process_memory", ctypes.c_size_t),
        ("job_memory", ctypes.c_size_t),
        ("peak_process_memory", ctypes.c_size_t),
        ("peak_job_memory", ctypes.c_size_t),
    )


def ended_by_time(exit_code: int) -> bool:
    """Whether a process that ended so had used up its time."""
    if sys.platform == "win32":
        return exit_code == _TOO_LITTLE_QUOTA
    return exit_code == -signal.SIGXCPU


def limit_this_process(limits: Limits) -> None:
    """From now on this process gets so much and no more; a later call sets new limits.

    A system that refuses a limit leaves it off: whoever started the process still has a clock.
    """
    if sys.platform == "win32":
        _limit_by_job(limits)
    else:
        _limit_by_resource(limits)


if sys.platform == "win32":

    @functools.cache
    def _own_job() -> tuple[ctypes.WinDLL, ctypes.c_void_p]:
        """The job that holds this process alone, inside any other it is in."""
        kernel = ctypes.WinDLL("kernel32")
        kernel.CreateJobObjectW.restype = ctypes.c_void_p
        kernel.GetCurrentProcess.restype = ctypes.c_void_p
        job = ctypes.c_void_p(kernel.CreateJobObjectW(None, None))
        kernel.AssignProcessToJobObject(job, ctypes.c_void_p(kernel.GetCurrentProcess()))
        return kernel, job

    def _limit_by_job(limits: Limits) -> None:
        kernel, job = _own_job()
        wanted = ExtendedJobLimits()
        wanted.basic.flags = _PROCESS_TIME | _PROCESS_MEMORY
        wanted.basic.process_time = int((time.process_time() + limits.cpu_s) * _HUNDRED_NS)
        wanted.process_memory = limits.memory_bytes
        kernel.SetInformationJobObject(
            job, _EXTENDED_LIMITS, ctypes.byref(wanted), ctypes.sizeof(wanted)
        )

else:
    import resource

    def _limit_by_resource(limits: Limits) -> None:
        cpu_s = math.ceil(time.process_time() + limits.cpu_s)
        wanted = (
            (resource.RLIMIT_CPU, cpu_s),
            (resource.RLIMIT_AS, limits.memory_bytes),
            (resource.RLIMIT_CORE, 0),
        )
        for kind, most in wanted:
            _, hard = resource.getrlimit(kind)
            soft = most if hard == resource.RLIM_INFINITY else min(most, hard)
            with contextlib.suppress(ValueError, OSError):
                resource.setrlimit(kind, (soft, hard))
