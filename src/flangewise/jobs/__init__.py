"""Many parts, and the whole way for one.

Takes part files and the shop. Gives a result a part, in order.
Relies on every room before it.
"""
