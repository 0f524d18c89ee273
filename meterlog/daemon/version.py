"""The version of the installed package."""

from importlib.metadata import PackageNotFoundError, version

try:
    VERSION = version("meterlog")
except PackageNotFoundError:  # a checkout that was not installed
    VERSION = "unreleased"
