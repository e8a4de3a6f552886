"""Heights on a grid."""
