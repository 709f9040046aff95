import type { Metadata } from 'next';
import { notFound } from 'next/navigation';
import { ReportView } from '@/app/trials/_parts/report-view';
import { reportTrial } from '@/lib/work/trials/report-trial';
import { sharedTrialId } from '@/lib/work/trials/share-trial';
import { readTrial } from '@/lib/work/trials/trial-record';

export const metadata: Metadata = {
  title: 'A shared trial',
  robots: { index: false, follow: false },
  referrer: 'no-referrer',
};

/** A trial's report for whoever has the link: read only, without the lawn's name, place or coordinates. */
export default async function SharedPage({ params }: { params: Promise<{ token: string }> }) {
  const { token } = await params;
  const trialId = await sharedTrialId(token);
  const record = trialId ? await readTrial(trialId) : null;
  if (!record) notFound();
  return (
    <ReportView
      linked={false}
      report={await reportTrial(record)}
      system={record.lawn.unitSystem}
      stripAddress={(frame) => `/shared/${token}/strip?photo=${frame.photoId}&plot=${frame.plotId}`}
    />
  );
}
