"""Boards, camera, pens, labels and dimensions."""
