-- The two roles of row security, made once by a superuser in the service's own database:
--   owner_mig  owns the tables and runs the migrations
--   app_rt     is what web, worker and beat sign in as; it owns nothing and cannot step round a policy
-- Passwords come from TARNHOUSE_OWNER_PASSWORD and TARNHOUSE_APP_PASSWORD. Running it again changes nothing
-- but the passwords.
\set ON_ERROR_STOP on
\getenv owner_password TARNHOUSE_OWNER_PASSWORD
\getenv app_password TARNHOUSE_APP_PASSWORD

SELECT format('CREATE ROLE %I', name)
  FROM (VALUES ('owner_mig'), ('app_rt')) AS wanted (name)
 WHERE NOT EXISTS (SELECT FROM pg_roles WHERE rolname = wanted.name)
\gexec

ALTER ROLE owner_mig LOGIN NOSUPERUSER NOBYPASSRLS NOCREATEROLE PASSWORD :'owner_password';
ALTER ROLE app_rt LOGIN NOSUPERUSER NOBYPASSRLS NOCREATEROLE NOCREATEDB PASSWORD :'app_password';

SELECT format('ALTER DATABASE %I OWNER TO owner_mig', current_database())
 WHERE current_database() NOT IN ('template1', 'postgres')
\gexec

ALTER DEFAULT PRIVILEGES FOR ROLE owner_mig GRANT SELECT, INSERT, UPDATE, DELETE ON TABLES TO app_rt;
ALTER DEFAULT PRIVILEGES FOR ROLE owner_mig GRANT USAGE, SELECT ON SEQUENCES TO app_rt;
