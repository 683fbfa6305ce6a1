"""The papermill engine "forked": each notebook in a kernel forked from a process with all loaded.

``papermill --engine forked`` uses it on any notebook; outputs, errors, timeouts and interrupts are
those of the default engine. Papermill loads this module by its entry point while it is itself being
loaded, so that nothing else may import it first.
"""

from __future__ import annotations

from typing import Any

from papermill.engines import NBClientEngine
from papermill.log import logger

from rebuildbook.batch.forked import ForkedKernelManager, cannot_fork


class ForkedEngine(NBClientEngine):
    """The papermill engine "forked"; ``memory_limit`` (bytes) bounds what a notebook may take."""

    @classmethod
    def execute_managed_notebook(  # type: ignore[override]
        cls, nb_man: Any, kernel_name: str, memory_limit: int = 0, **settings: Any
    ) -> Any:
        """Run the notebook of ``nb_man``; as the default engine where no kernel can be forked."""
        why_not = cannot_fork(kernel_name)
        if why_not:
            logger.warning("No kernel is forked, the default engine runs: %s", why_not)
        else:
            manager = type("Limited", (ForkedKernelManager,), {"memory_limit": memory_limit})
            settings.setdefault("kernel_manager_class", manager)
        return super().execute_managed_notebook(nb_man, kernel_name, **settings)  # type: ignore[no-untyped-call]
