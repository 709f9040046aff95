import type { Metadata } from 'next';
import Link from 'next/link';
import { notFound } from 'next/navigation';
import { BeingWorkedOut } from '@/app/_ui/being-worked-out';
import { PrintButton } from '@/app/_ui/print-button';
import { reportTrial } from '@/lib/work/trials/report-trial';
import { readTrial } from '@/lib/work/trials/trial-record';
import { ReportView } from '../../_parts/report-view';
import { askPage } from '@/app/_ui/rights';

export const metadata: Metadata = { title: 'Report' };

export default async function ReportPage({ params }: { params: Promise<{ id: string }> }) {
  await askPage('looks', { trial: (await params).id });
  const record = await readTrial((await params).id);
  if (!record) notFound();
  return (
    <>
      <div className="row no-print">
        <PrintButton />
        <Link className="button" href={`/trials/${record.trial.id}`}>
          Back to the trial
        </Link>
      </div>
      <BeingWorkedOut lawnId={record.lawn.id} photos={record.pending} />
      <ReportView
        linked
        report={await reportTrial(record)}
        system={record.lawn.unitSystem}
        stripAddress={(frame) => `/api/photos/${frame.photoId}/above?plot=${frame.plotId}`}
      />
    </>
  );
}
