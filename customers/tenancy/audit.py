"""Reading PostgreSQL's catalogue to see whether the walls stand."""

from __future__ import annotations

from django.db.backends.base.base import BaseDatabaseWrapper

from customers.tenancy.row_security import tenant_links, tenant_models

_TABLE = """
SELECT c.relrowsecurity, c.relforcerowsecurity,
       EXISTS (SELECT 1 FROM pg_policy p WHERE p.polrelid = c.oid AND p.polname = 'dealer_rows'
               AND p.polqual IS NOT NULL AND p.polwithcheck IS NOT NULL)
FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE n.nspname = current_schema() AND c.relname = %s
"""
_DEALER_TABLES = """
SELECT table_name FROM information_schema.columns
WHERE table_schema = current_schema() AND column_name = 'dealer_id'
"""
_COMPOSITE = """
SELECT count(*) FROM pg_constraint k JOIN pg_class c ON c.oid = k.conrelid
WHERE k.contype = 'f' AND array_length(k.conkey, 1) = 2 AND c.relname = %s
"""
_ROLE = "SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = current_user"
_OWNED = """
SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE n.nspname = current_schema() AND c.relkind = 'r' AND pg_get_userbyid(c.relowner) = current_user
"""
_VIEWS = """
SELECT c.relname FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
WHERE n.nspname = current_schema() AND (c.relkind = 'm' OR (c.relkind = 'v'
  AND NOT coalesce(c.reloptions::text, '') LIKE '%%security_invoker=true%%'))
"""
_DEFINERS = """
SELECT p.proname FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace
WHERE n.nspname = current_schema() AND p.prosecdef
"""


def table_findings(connection: BaseDatabaseWrapper) -> list[str]:
    """Tables, keys, views and functions that leave a hole; empty when the wall stands."""
    found: list[str] = []
    known = {model._meta.db_table for model in tenant_models()}
    with connection.cursor() as cursor:
        cursor.execute(_DEALER_TABLES)
        found += [
            f"{name}: has a dealer but is no tenant model" for (name,) in cursor.fetchall() if name not in known
        ]
        for model in tenant_models():
            table = model._meta.db_table
            cursor.execute(_TABLE, [table])
            told = cursor.fetchone()
            if told is None:
                found.append(f"{table}: not there")
                continue
            enabled, forced, policy = told
            if not (enabled and forced and policy):
                found.append(f"{table}: row security enabled={enabled} forced={forced} policy={policy}")
            cursor.execute(_COMPOSITE, [table])
            have, want = cursor.fetchone()[0], len(list(tenant_links(model)))
            if have < want:
                found.append(f"{table}: {have} of {want} foreign keys carry the dealer")
        cursor.execute(_VIEWS)
        found += [f"{name}: view or materialized view that ignores row security" for (name,) in cursor.fetchall()]
        cursor.execute(_DEFINERS)
        found += [f"{name}: function runs with its owner's rights" for (name,) in cursor.fetchall()]
    return found


def role_findings(connection: BaseDatabaseWrapper) -> list[str]:
    """What is wrong with the role the application connects as; empty when it can do no more than it should."""
    found: list[str] = []
    with connection.cursor() as cursor:
        cursor.execute(_ROLE)
        superuser, bypasses = cursor.fetchone()
        if superuser:
            found.append("the application connects as a superuser")
        if bypasses:
            found.append("the application's role bypasses row security")
        cursor.execute(_OWNED)
        found += [f"{name}: owned by the application's role" for (name,) in cursor.fetchall()]
    return found
