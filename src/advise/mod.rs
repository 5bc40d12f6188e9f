//! A diagnosis to a hold, moves and routes, each proved on the very state by turning it.
