"""What is kept, one module a family of tables.

Functions take the connection of a transaction, so that whatever belongs together is committed together; everything
that belongs to a tenant is asked for with the tenant's name. Statements are built once.
"""
