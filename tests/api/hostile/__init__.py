"""Bodies made to do harm, sent to every operation that takes one.

The operations and their examples come from the OpenAPI document, so that none can be left out. Whatever is sent, the
answer is a problem that says where and what, and nothing is stored.
"""
