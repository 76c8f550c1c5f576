"""The column that a step's form stands in."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget


class Column(QScrollArea):
    """A narrow column that scrolls up and down only, as wide as its content asks; it may be filled later."""

    def __init__(self, content: QWidget | None = None, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._holder = QWidget()
        column = QVBoxLayout(self._holder)
        space = self.fontMetrics().height() // 2
        column.setContentsMargins(space, 0, space, space)
        if content is not None:
            self.fill(content)
        self.setWidget(self._holder)
        self._holder.installEventFilter(self)

    def fill(self, content: QWidget) -> None:
        """Put the content in."""
        layout = self._holder.layout()
        assert layout is not None
        layout.addWidget(content)  # it takes all the height: some have a list that fills it
        content.show()  # at once: in a column that is shown already the layout would do it a turn later

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()  # a fold that opened may need a wider column
        return super().eventFilter(watched, event)

    def show_widget(self, widget: QWidget) -> None:
        """Scroll to a widget; what has only just been unfolded is laid out first."""
        layout = self._holder.layout()
        assert layout is not None
        layout.activate()
        self._holder.adjustSize()
        self.ensureWidgetVisible(widget)

    def sizeHint(self) -> QSize:
        return QSize(self._wide(), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:
        return QSize(self._wide(), super().minimumSizeHint().height())

    def _wide(self) -> int:
        # The bar's own room is kept free always, so that nothing jumps aside when a fold opens.
        return self._holder.minimumSizeHint().width() + self.verticalScrollBar().sizeHint().width()
