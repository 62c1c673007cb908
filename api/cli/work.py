"""`steelyard work`: take long jobs in a process of its own."""

import click


@click.command(short_help="Take long jobs, such as publishing.")
@click.option("--once", is_flag=True, help="Do what waits now, then end.")
def work(once: bool) -> None:
    """Take long jobs, such as publishing, one after the other.

    `serve` does this in one of its threads; run it beside `serve --no-work` to keep long jobs out of the server. A job
    whose worker was killed is taken up again when its lease has run out.
    """
    from api.cli.jobs import keep_taking_jobs, take_one
    from api.cli.record import opened_record
    from api.settings import settings_from_environment

    settings = settings_from_environment()
    done = 0
    with opened_record(settings) as engine:
        if not once:
            click.echo("Taking jobs as they come. Stop with Ctrl-C.")
            keep_taking_jobs(settings)
        while (job := take_one(engine, settings)) is not None:
            done += 1
            click.echo(f"{job.kind} {job.job}")
    click.echo(f"{done} job{'s' if done != 1 else ''} done.")
